import type { MiddlewareHandler } from "hono";
import { getCookie } from "hono/cookie";
import type { Refusal } from "../wire.js";
import { isSameSecret } from "./secrets.js";

/**
 * Headers of every answer. Scripts and styles come from files of this server alone, nothing from anywhere else; the
 * camera is for the phone's page.
 */
export function securityHeaders(camera: boolean): MiddlewareHandler {
  const policy = [
    "default-src 'none'",
    "script-src 'self'",
    "style-src 'self'",
    "img-src 'self' blob:",
    "font-src 'self'",
    "connect-src 'self'",
    "frame-src 'self'",
    ...(camera ? ["media-src 'self' blob:"] : []),
    "manifest-src 'none'",
    "base-uri 'none'",
    "form-action 'none'",
    "frame-ancestors 'none'",
  ].join("; ");
  return async (c, next) => {
    await next();
    const { headers } = c.res;
    if (!headers.has("content-security-policy")) headers.set("content-security-policy", policy);
    headers.set("x-content-type-options", "nosniff");
    headers.set("referrer-policy", "no-referrer");
    headers.set("cross-origin-opener-policy", "same-origin");
    headers.set("cross-origin-resource-policy", "same-origin");
    headers.set("permissions-policy", `camera=(${camera ? "self" : ""}), microphone=(), geolocation=()`);
    if (!headers.has("cache-control")) headers.set("cache-control", "no-store");
  };
}

export const refuse = (error: string, code: Refusal["code"]): Refusal => ({ error, code });

/**
 * Lets through only what was addressed to this server by its own name: a name that was rebound to this address
 * arrives with that name in `Host`. What would change something must also come from a page of this server.
 *
 * @param hosts as they stand in `Host`, with the port; asked anew each time, since the port is known late.
 */
export function ownHostOnly(hosts: () => readonly string[]): MiddlewareHandler {
  return async (c, next) => {
    const host = c.req.header("host")?.toLowerCase();
    if (host === undefined || !hosts().includes(host))
      return c.json(refuse("this server answers to its own address only", "forbidden"), 421);
    const { method } = c.req;
    const origin = c.req.header("origin");
    const site = c.req.header("sec-fetch-site");
    const own = origin === `http://${host}`;
    const reads = method === "GET" || method === "HEAD";
    // A browser sends Origin with every request that changes something; without it, it was no page of ours.
    if (reads ? origin !== undefined && !own : !own)
      return c.json(refuse("this request comes from another page", "forbidden"), 403);
    // Opening the page from somewhere else is reading too; everything finer must come from the page itself.
    const opened = reads && c.req.header("sec-fetch-mode") === "navigate";
    if (site !== undefined && site !== "same-origin" && !opened && !(reads && site === "none"))
      return c.json(refuse("this request comes from another page", "forbidden"), 403);
    await next();
    return undefined;
  };
}

/** Only whoever brought the secret once and got the cookie for it. */
export function signedInOnly(cookieName: () => string, secret: string): MiddlewareHandler {
  return async (c, next) => {
    if (!isSameSecret(getCookie(c, cookieName()), secret))
      return c.json(
        refuse("open the page with the address that wheelsurvey page has printed", "forbidden"),
        401,
      );
    await next();
    return undefined;
  };
}

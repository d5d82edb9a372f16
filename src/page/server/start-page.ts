import { Hono } from "hono";
import { setCookie } from "hono/cookie";
import { SurveyError } from "../../problem/index.js";
import { accepts, Capture } from "./capture.js";
import { clientAnswer, readClientFiles } from "./client-files.js";
import type { FolderServices } from "./folder-services.js";
import { ownHostOnly, refuse, securityHeaders, signedInOnly } from "./guard.js";
import { listen } from "./listen.js";
import { PageError, statusOf } from "./page-error.js";
import { isSameSecret, newSecret } from "./secrets.js";
import { SurveyShelf } from "./shelf.js";
import type { SurveyDesk } from "./survey-desk.js";
import { surveyRoutes } from "./survey-routes.js";

export interface PageOptions {
  /** Folder of one survey, made if need be; absent: all surveys in `base` are offered. */
  readonly folder?: string;
  readonly base: string;
  /** Default: any that is free. */
  readonly port?: number;
  readonly workers?: number;
  readonly services: FolderServices;
  /** Default: the built client of this package. */
  readonly clientFolder?: string;
  /** Addresses for the phone; default: those of this machine in a local network. */
  readonly captureAddresses?: () => readonly string[];
  /** Told of errors that are nobody's fault but the program's. */
  readonly onUnexpected?: (error: unknown) => void;
}

export interface RunningPage {
  /** Address to open, with the secret that lets in. */
  readonly url: string;
  readonly port: number;
  close(): Promise<void>;
}

/**
 * Serves the page on the loopback.
 *
 * @throws UsageError if the folder, the port or the client cannot be used.
 */
export async function startPage(options: PageOptions): Promise<RunningPage> {
  const files = await readClientFiles(options.clientFolder);
  const shelf = await SurveyShelf.at(options.folder, options.base, options.services, options.workers);
  const secret = newSecret();
  const session = newSecret();
  let port = 0;
  const hosts = (): string[] => [`127.0.0.1:${port}`, `localhost:${port}`];
  // Cookies know no ports: the name keeps two pages apart.
  const cookie = (): string => `wheelsurvey-${port}`;
  const captures = new Map<SurveyDesk, Capture>();
  const captureOf = (desk: SurveyDesk): Capture => {
    const known = captures.get(desk);
    if (known) return known;
    const addresses = options.captureAddresses;
    const made = new Capture(desk, { files, ...(addresses ? { addresses } : {}) });
    captures.set(desk, made);
    desk.captureState = () => made.state();
    return made;
  };

  const app = new Hono();
  app.use(securityHeaders(false));
  app.use(ownHostOnly(hosts));
  app.onError((error, c) => {
    if (error instanceof PageError) return c.json(refuse(error.message, error.code), statusOf[error.code]);
    if (error instanceof SurveyError) return c.json(refuse(error.message, "invalid"), 400);
    options.onUnexpected?.(error);
    return c.json(refuse("this program failed; what was entered before is kept", "unexpected"), 500);
  });
  app.notFound((c) => c.json(refuse("nothing here", "not-found"), 404));

  app.get("/", (c) => {
    const key = c.req.query("key");
    if (key !== undefined) {
      if (!isSameSecret(key, secret)) return c.json(refuse("this address is not right", "forbidden"), 401);
      setCookie(c, cookie(), session, { httpOnly: true, sameSite: "Strict", path: "/" });
      // The secret leaves the address bar; the page itself asks with the cookie.
      return c.redirect("/");
    }
    // A redirect after a click elsewhere comes without the strict cookie: the page then asks once more itself.
    return clientAnswer(files.get("index.html")!, accepts(c.req.header("accept-encoding")));
  });
  app.get("/assets/:file", (c) => {
    const file = files.get(`assets/${c.req.param("file")}`);
    return file ? clientAnswer(file, accepts(c.req.header("accept-encoding"))) : c.notFound();
  });

  const api = new Hono();
  api.use(signedInOnly(cookie, session));
  api.get("/shelf", async (c) => c.json(await shelf.list()));
  api.post("/shelf", async (c) => {
    const body: unknown = await c.req.json().catch(() => undefined);
    const name = (body as { name?: unknown } | undefined)?.name;
    if (typeof name !== "string") throw new PageError("invalid", "expected a name");
    return c.json({ name: await shelf.make(name) });
  });
  api.route(
    "/surveys",
    surveyRoutes({
      services: options.services,
      desk: async (name) => {
        const desk = await shelf.desk(name);
        captureOf(desk);
        return desk;
      },
      capture: captureOf,
    }),
  );
  app.route("/api", api);

  const server = await listen(app, "127.0.0.1", options.port ?? 0);
  port = server.port;
  return {
    url: `http://127.0.0.1:${port}/?key=${secret}`,
    port,
    close: async () => {
      await Promise.all([...captures.values()].map((capture) => capture.stop()));
      await shelf.close();
      await server.close();
    },
  };
}

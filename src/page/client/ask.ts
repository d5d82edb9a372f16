import type { Refusal } from "../wire.js";

/** An answer that says no, with the reason as the server put it. */
export class Refused extends Error {
  constructor(
    message: string,
    readonly code: Refusal["code"] | "offline",
  ) {
    super(message);
  }
}

/** Asks the server. @throws Refused */
export async function ask<T>(path: string, init: RequestInit & { readonly json?: unknown } = {}): Promise<T> {
  const { json, ...rest } = init;
  let response: Response;
  try {
    response = await fetch(path, {
      ...rest,
      ...(json === undefined
        ? {}
        : { body: JSON.stringify(json), headers: { "content-type": "application/json" } }),
    });
  } catch {
    throw new Refused("The program does not answer. Start it again; what you typed is kept here.", "offline");
  }
  const answer: unknown = await response.json().catch(() => undefined);
  if (response.ok) return answer as T;
  const refusal = answer as Partial<Refusal> | undefined;
  throw new Refused(
    refusal?.error ?? `The program answers ${response.status}.`,
    refusal?.code ?? "unexpected",
  );
}

export const post = <T>(path: string, json: unknown = {}): Promise<T> =>
  ask<T>(path, { method: "POST", json });

/** Address of a survey, or of something in it. */
export const surveyPath = (survey: string, ...rest: readonly string[]): string =>
  ["/api/surveys", survey, ...rest].map((step, i) => (i === 0 ? step : encodeURIComponent(step))).join("/");

export const picturePath = (
  survey: string,
  photo: string,
  sha256: string,
  size: "small" | "middle" | "full",
): string =>
  // The check-sum makes another picture under the same name another address.
  `${surveyPath(survey, "photos", photo, "picture")}?size=${size}&v=${sha256.slice(0, 12)}`;

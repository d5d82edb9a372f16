import { Hono, type Context } from "hono";
import { bodyLimit } from "hono/body-limit";
import { streamSSE } from "hono/streaming";
import type { PageEvent } from "../wire.js";
import type { Capture } from "./capture.js";
import { readChangeRequest } from "./change-shape.js";
import type { FolderServices } from "./folder-services.js";
import { PageError } from "./page-error.js";
import { pictureOf, pictureSizes, type PictureSize } from "./pictures.js";
import { receivePhoto } from "./receive-photo.js";
import type { SurveyDesk } from "./survey-desk.js";

/** Requests to one survey are small, but for photographs. */
const smallBody = bodyLimit({
  maxSize: 512 * 1024,
  onError: () => {
    throw new PageError("too-large", "this is too much for one request");
  },
});

export interface SurveyRoutesContext {
  readonly services: FolderServices;
  readonly desk: (name: string) => Promise<SurveyDesk>;
  readonly capture: (desk: SurveyDesk) => Capture;
}

/** What the page asks of one survey. */
export function surveyRoutes({ services, desk: deskOf, capture }: SurveyRoutesContext): Hono {
  const app = new Hono();
  const desk = (c: Context): Promise<SurveyDesk> => deskOf(c.req.param("survey") ?? "");

  app.get("/:survey", async (c) => {
    const own = await desk(c);
    if (c.req.query("fresh") !== undefined) await own.refresh();
    return c.json(await own.state());
  });

  app.get("/:survey/events", async (c) => {
    const own = await desk(c);
    return streamSSE(c, async (stream) => {
      let wake = (): void => undefined;
      const queue: PageEvent[] = [];
      const stop = own.listen((event) => {
        queue.push(event);
        wake();
      });
      stream.onAbort(() => {
        stop();
        wake();
      });
      await stream.writeSSE({ data: JSON.stringify({ type: "changed", what: "files" } satisfies PageEvent) });
      while (!stream.aborted && !stream.closed) {
        const event = queue.shift();
        if (event) {
          await stream.writeSSE({ data: JSON.stringify(event) });
          if (event.type === "closing") break;
        } else
          await new Promise<void>((resolve) => {
            // A line now and then shows both ends that the other one is there.
            const timer = setTimeout(
              () =>
                void stream.write(": here\n\n").then(
                  () => resolve(),
                  () => resolve(),
                ),
              15_000,
            );
            wake = () => {
              clearTimeout(timer);
              resolve();
            };
          });
      }
      stop();
    });
  });

  app.post("/:survey/photos", async (c) => c.json(await receivePhoto(c, await desk(c))));

  app.get("/:survey/photos/:photo", async (c) => c.json((await desk(c)).detail(c.req.param("photo"))));

  app.get("/:survey/photos/:photo/picture", async (c) => {
    const own = await desk(c);
    const photo = own.photo(c.req.param("photo"));
    const size = c.req.query("size") ?? "small";
    if (!Object.hasOwn(pictureSizes, size))
      throw new PageError("invalid", "expected a size: small, middle, full");
    if (photo.sha256 === undefined) throw new PageError("not-found", "this photograph cannot be read");
    const pictures = await own.folder.subfolder("results/pictures");
    return pictureOf(photo.file, photo.sha256, size as PictureSize, pictures, services);
  });

  app.post("/:survey/changes", smallBody, async (c) => {
    const own = await desk(c);
    const request = readChangeRequest(await jsonOf(c));
    if ("error" in request) throw new PageError("invalid", request.error);
    await own.change(request);
    return c.json(await own.state());
  });

  app.post("/:survey/undo", async (c) => {
    const own = await desk(c);
    await own.undo();
    return c.json(await own.state());
  });

  app.post("/:survey/redo", async (c) => {
    const own = await desk(c);
    await own.redo();
    return c.json(await own.state());
  });

  app.post("/:survey/measure", smallBody, async (c) => {
    const own = await desk(c);
    own.measure(namesOf(await jsonOf(c)));
    return c.json({ ok: true });
  });

  app.post("/:survey/cancel", smallBody, async (c) => {
    const own = await desk(c);
    const names = namesOf(await jsonOf(c));
    if (names) for (const name of names) own.cancelMeasuring(name);
    else own.cancelMeasuring();
    return c.json({ ok: true });
  });

  app.get("/:survey/movement", async (c) => c.json(await (await desk(c)).movementNow()));

  app.get("/:survey/movement/drawing.svg", async (c) => {
    const drawing = await (await desk(c)).drawing();
    if (drawing === undefined) throw new PageError("not-found", "there is no movement to draw yet");
    return c.body(drawing, 200, pictureOnly);
  });

  app.get("/:survey/sets", async (c) => c.json((await desk(c)).setStates()));

  app.get("/:survey/sets/:key/:result/laid-over.svg", async (c) => {
    const { key, result } = c.req.param();
    return c.body(await (await desk(c)).laidOver(key, result), 200, pictureOnly);
  });

  app.get("/:survey/sets/:key/:result/:figure{[0-9]+\\.svg}", async (c) => {
    const { key, result, figure } = c.req.param();
    return c.body((await desk(c)).setFigure(key, result, figure.replace(".svg", "")), 200, pictureOnly);
  });

  app.get("/:survey/todo", async (c) => c.json(await (await desk(c)).todo()));

  app.post("/:survey/report", async (c) => {
    (await desk(c)).makeReport();
    return c.json({ ok: true });
  });

  app.get("/:survey/report/:file", async (c) => {
    const own = await desk(c);
    const name = c.req.param("file");
    const { data, type } = await own.report.file(name);
    const shown = name === "report.html" && c.req.query("download") === undefined;
    return c.body(data, 200, {
      "content-type": type,
      "content-disposition": shown ? "inline" : `attachment; filename="${name}"`,
      // The report brings its style along, and its own policy narrows this further.
      "content-security-policy":
        "default-src 'none'; img-src data:; font-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'self'; sandbox allow-same-origin",
    });
  });

  app.post("/:survey/capture", async (c) => {
    const own = await desk(c);
    await capture(own).start();
    own.say({ type: "changed", what: "capture" });
    return c.json(await own.state());
  });

  app.delete("/:survey/capture", async (c) => {
    const own = await desk(c);
    await capture(own).stop();
    own.say({ type: "changed", what: "capture" });
    return c.json(await own.state());
  });

  return app;
}

/** Shown as a picture; opened by itself it may do nothing at all. */
const pictureOnly = {
  "content-type": "image/svg+xml; charset=utf-8",
  "content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; sandbox",
};

async function jsonOf(c: Context): Promise<unknown> {
  if (!(c.req.header("content-type") ?? "").startsWith("application/json"))
    throw new PageError("invalid", "expected JSON");
  try {
    return await c.req.json();
  } catch (error) {
    if (error instanceof PageError) throw error;
    throw new PageError("invalid", "expected JSON");
  }
}

function namesOf(json: unknown): readonly string[] | undefined {
  const names = (json as { photos?: unknown } | null)?.photos;
  if (names === undefined) return undefined;
  if (Array.isArray(names) && names.length <= 5000 && names.every((name) => typeof name === "string"))
    return names;
  throw new PageError("invalid", "expected names of photographs");
}

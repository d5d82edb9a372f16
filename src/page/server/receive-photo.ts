import { randomBytes } from "node:crypto";
import { link, open, rm } from "node:fs/promises";
import { join } from "node:path";
import type { Context } from "hono";
import { PageError } from "./page-error.js";
import { pictureFormat, photoName } from "./names.js";
import type { SurveyDesk } from "./survey-desk.js";

/** As large as a photograph may be that is measured; see `readPhoto`. */
export const largestPhotoBytes = 200e6;
/** Photographs of one survey. */
const mostPhotos = 2000;

/**
 * Takes the body of a request as a photograph: the untouched file, under a name made from the one it came with. It
 * appears in photos/ whole or not at all. A file that is there already (same content) is not kept twice.
 *
 * @throws PageError "too-large", "invalid".
 */
export async function receivePhoto(
  c: Context,
  desk: SurveyDesk,
): Promise<{ readonly name: string; readonly known: boolean }> {
  const given = c.req.query("name") ?? "";
  const announced = Number(c.req.header("content-length") ?? 0);
  if (announced > largestPhotoBytes) throw tooLarge();
  const body = c.req.raw.body;
  if (!body) throw new PageError("invalid", "the file is empty");
  if (desk.photoNames().size >= mostPhotos)
    throw new PageError("invalid", `a survey holds at most ${mostPhotos} photographs; begin another one`);
  const folder = await desk.folder.subfolder("photos");
  const partial = join(folder, `.upload-${randomBytes(6).toString("hex")}.${process.pid}.partial`);
  const file = await open(partial, "wx");
  try {
    let byteCount = 0;
    let head = new Uint8Array(0);
    const reader = body.getReader();
    for (;;) {
      const { done, value } = await reader.read();
      if (done) break;
      const chunk = value as Uint8Array;
      byteCount += chunk.length;
      if (byteCount > largestPhotoBytes) {
        await reader.cancel().catch(() => undefined);
        throw tooLarge();
      }
      if (head.length < 16) head = new Uint8Array([...head, ...chunk.subarray(0, 16)]);
      await file.writeFile(chunk);
    }
    // Sent in part: the sender went away.
    if (announced > 0 && byteCount !== announced)
      throw new PageError("invalid", "the file did not arrive whole");
    if (byteCount === 0) throw new PageError("invalid", "the file is empty");
    const format = pictureFormat(head);
    if (!format)
      throw new PageError(
        "invalid",
        "this is no photograph that can be measured; give JPEG, HEIC, PNG, WebP or TIFF",
      );
    await file.sync();
    await file.close();
    const same = await desk.sameContent(partial);
    if (same !== undefined) return { name: same, known: true };
    const taken = new Set(desk.photoNames());
    for (;;) {
      const name = photoName(given, format, taken);
      try {
        // Unlike a rename, a link never replaces a file that came there meanwhile.
        await link(partial, join(folder, name));
        await desk.refresh();
        return { name, known: false };
      } catch (error) {
        if (!(error instanceof Error && "code" in error && error.code === "EEXIST")) throw error;
        taken.add(name.toLowerCase());
      }
    }
  } finally {
    await file.close().catch(() => undefined);
    await rm(partial, { force: true });
  }
}

const tooLarge = (): PageError =>
  new PageError("too-large", `a photograph may have at most ${largestPhotoBytes / 1e6} MB`);

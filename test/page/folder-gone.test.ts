import { existsSync, renameSync } from "node:fs";
import { join } from "node:path";
import { expect, test, vi } from "vitest";
import type { SurveyState } from "../../src/page/wire.js";
import { openPage, putPhoto, send, signIn, tinyPicture } from "./page-fixture.js";

vi.setConfig({ testTimeout: 240_000 });

test("a survey folder that is moved away while its page is open: told, not made anew, and taken up again", async () => {
  const picture = await tinyPicture("rgb(90,90,90)");
  const page = await openPage({ prepare: (folder) => putPhoto(folder, "1.jpg", picture) });
  const headers = { ...(await signIn(page)), "content-type": "application/json" };
  const state = () => send(page.port, "/api/surveys/clock", { headers });
  expect((await state()).status).toBe(200);

  const { revisions } = (await state()).json() as SurveyState;
  const change = () =>
    send(page.port, "/api/surveys/clock/changes", {
      method: "POST",
      headers,
      body: JSON.stringify({
        change: { kind: "done", key: "x", done: true },
        revision: revisions.corrections,
      }),
    });

  renameSync(page.folder, `${page.folder}-moved`);
  const refused = await change();
  expect(refused.status).toBe(400);
  expect(refused.text).toMatch(/the survey folder is no longer there; put it back/);
  // The watcher reads the folder half a second after it has changed.
  await new Promise((done) => setTimeout(done, 800));
  expect(existsSync(page.folder)).toBe(false);
  expect(existsSync(join(`${page.folder}-moved`, "photos", "1.jpg"))).toBe(true);

  renameSync(`${page.folder}-moved`, page.folder);
  expect((await change()).status).toBe(200);
  expect(existsSync(join(page.folder, "corrections.yaml"))).toBe(true);
  expect(page.unexpected).toEqual([]);
  await page.end();
});

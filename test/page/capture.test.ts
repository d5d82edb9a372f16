import { readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { Sharp } from "sharp";
import { chromium } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { chromiumPath, launchChromium } from "../browser/launch-chromium.js";
import { captureHint } from "../../src/page/server/capture-hints.js";
import { localAddresses } from "../../src/page/server/capture.js";
import { openPage, samplePhoto, send, signIn, tinyPicture, type OpenPage } from "./page-fixture.js";

const executable = chromiumPath();
const survey = "/api/surveys/clock";

interface State {
  readonly photos: { readonly name: string }[];
  readonly capture: {
    readonly on: boolean;
    readonly url?: string;
    readonly qr?: string[];
    readonly phoneJoined: boolean;
    readonly received: number;
    readonly words?: string;
  };
}

describe("photographs from the phone", () => {
  let page: OpenPage;
  let bench: Record<string, string>;
  beforeAll(async () => {
    page = await openPage();
    bench = await signIn(page);
  });
  afterAll(() => page.end());

  const turn = async (method: "POST" | "DELETE"): Promise<State> =>
    (await send(page.port, `${survey}/capture`, { method, headers: bench })).json() as State;
  const state = async (): Promise<State> =>
    (await send(page.port, survey, { headers: bench })).json() as State;
  const join_ = async (url: URL): Promise<Record<string, string>> => {
    const { headers, status } = await send(Number(url.port), url.pathname);
    expect(status).toBe(200);
    return { cookie: String(headers["set-cookie"]).split(";")[0]!, origin: url.origin };
  };

  test("there is no way in before it is switched on, and none after it is switched off", async () => {
    expect((await state()).capture).toMatchObject({ on: false, phoneJoined: false });
    const on = await turn("POST");
    const url = new URL(on.capture.url!);
    expect((await send(Number(url.port), url.pathname)).status).toBe(200);
    expect((await turn("DELETE")).capture.on).toBe(false);
    await expect(send(Number(url.port), url.pathname)).rejects.toThrow();
  });

  test("the code on the screen says the address", async () => {
    const { capture } = await turn("POST");
    expect(capture.qr!.length).toBeGreaterThanOrEqual(21);
    expect(new Set(capture.qr!.map((row) => row.length))).toEqual(new Set([capture.qr!.length]));
    // Finder patterns in three corners: ISO/IEC 18004, from memory.
    for (const row of [capture.qr![0]!, capture.qr!.at(-1)!]) expect(row.startsWith("1111111")).toBe(true);
    expect(capture.qr![0]!.endsWith("1111111")).toBe(true);
  });

  test("one phone, once: the address opens nothing for a second one, and is shown no more", async () => {
    const url = new URL((await turn("POST")).capture.url!);
    const phone = await join_(url);
    expect((await send(Number(url.port), url.pathname)).status).toBe(401);
    const now = (await state()).capture;
    expect(now).toMatchObject({ on: true, phoneJoined: true });
    expect(now.url).toBeUndefined();
    const sent = await send(Number(url.port), "/camera/photos?name=IMG_1.jpg", {
      method: "POST",
      headers: phone,
      body: await tinyPicture("#334455"),
    });
    expect(sent.json()).toEqual({ name: "IMG_1.jpg", known: false });
    expect(readFileSync(join(page.folder, "photos", "IMG_1.jpg")).equals(await tinyPicture("#334455"))).toBe(
      true,
    );
    expect((await state()).capture.received).toBe(1);
  });

  test("what it sent is looked at here, where its browser cannot read it; of others it is told nothing", async () => {
    const url = new URL((await turn("POST")).capture.url!);
    const port = Number(url.port);
    const phone = await join_(url);
    // IMG_1.jpg came with an earlier phone.
    const hint = (name: string, headers = phone) => send(port, `/camera/photos/${name}/hint`, { headers });
    expect((await hint("IMG_1.jpg")).status).toBe(404);
    expect((await hint("..%2f..%2fsurvey.yaml")).status).toBe(404);
    const body = await tinyPicture("#334455");
    await send(port, "/camera/photos?name=again.jpg", { method: "POST", headers: phone, body });
    const answer = await hint("IMG_1.jpg");
    expect(answer.json()).toMatchObject({ ok: false, code: "no-mat", text: "The mat is not seen." });
    expect((await hint("IMG_1.jpg", { origin: url.origin })).status).toBe(401);
  });

  test("without the token's cookie nothing is taken, nor with that of a session that ended", async () => {
    const before = new URL((await turn("POST")).capture.url!);
    const old = await join_(before);
    const url = new URL((await turn("POST")).capture.url!);
    const port = Number(url.port);
    for (const headers of [
      { origin: url.origin },
      { origin: url.origin, cookie: old["cookie"]! },
      { origin: url.origin, cookie: "wheelsurvey-phone=" },
    ])
      expect(
        (
          await send(port, "/camera/photos?name=x.jpg", {
            method: "POST",
            headers,
            body: await tinyPicture("#998877"),
          })
        ).status,
      ).toBe(401);
    expect((await state()).photos.map(({ name }) => name)).toEqual(["IMG_1.jpg"]);
  });

  test("the phone's way leads to photographs only, and answers to its own name only", async () => {
    const url = new URL((await turn("POST")).capture.url!);
    const phone = await join_(url);
    const port = Number(url.port);
    for (const path of [survey, "/api/shelf", `${survey}/photos/IMG_1.jpg`, "/camera/../api/shelf"])
      expect(
        (await send(port, path, { headers: { cookie: `${phone["cookie"]}; ${bench["cookie"]}` } })).status,
      ).toBeGreaterThanOrEqual(401);
    expect((await send(port, "/camera/", { headers: { ...phone, host: "evil.example" } })).status).toBe(421);
    const foreign = { ...phone, origin: "http://evil.example" };
    expect(
      (
        await send(port, "/camera/photos?name=x.jpg", {
          method: "POST",
          headers: foreign,
          body: await tinyPicture("#112233"),
        })
      ).status,
    ).toBe(403);
  });

  test("who guesses at the token finds the door shut after twenty tries", async () => {
    const url = new URL((await turn("POST")).capture.url!);
    for (let i = 0; i < 20; i++)
      expect((await send(Number(url.port), `/${"x".repeat(31)}${i % 10}/`)).status).toBe(401);
    await expect.poll(async () => (await state()).capture.on).toBe(false);
    expect((await state()).capture.words).toMatch(/switched off/);
    const isShut = (): Promise<boolean> =>
      send(Number(url.port), url.pathname).then(
        () => false,
        () => true,
      );
    await expect.poll(isShut).toBe(true);
  });

  test("only addresses of private networks are offered", () => {
    for (const address of localAddresses())
      expect(address).toMatch(/^(10\.|192\.168\.|172\.(1[6-9]|2\d|3[01])\.)/);
  });

  test.skipIf(executable === undefined)(
    "a phone scans, sends the original and is told how the picture is",
    async () => {
      const browser = await launchChromium(executable!);
      const context = await browser.newContext({
        viewport: { width: 360, height: 740 },
        hasTouch: true,
        isMobile: true,
      });
      const tab = await context.newPage();
      await tab.goto((await turn("POST")).capture.url!);
      await tab.locator("input[capture]").setInputFiles(samplePhoto);
      // Written large, and at once: the photograph may have to be taken again.
      const verdict = tab.locator(".verdict-now");
      await verdict.waitFor({ timeout: 60_000 });
      expect(await verdict.textContent()).toMatch(/markers seen.*01-centre-wheel.jpg is on the bench/);
      // Far away from the mat: it fills a third of the picture.
      const { default: sharp } = await import("sharp");
      const small = await sharp(samplePhoto).resize({ width: 900 }).toBuffer();
      const far = await sharp({ create: { width: 2700, height: 2000, channels: 3, background: "#7a6a55" } })
        .composite([{ input: small }])
        .jpeg()
        .toBuffer();
      await tab
        .locator("input[capture]")
        .setInputFiles({ name: "far.jpg", mimeType: "image/jpeg", buffer: far });
      await verdict.getByText(/Too far/).waitFor({ timeout: 60_000 });
      expect(await verdict.textContent()).toMatch(/take it once more/);
      expect(
        readFileSync(join(page.folder, "photos", "01-centre-wheel.jpg")).equals(readFileSync(samplePhoto)),
      ).toBe(true);
      expect(
        await tab.evaluate(() => document.documentElement.scrollWidth - window.innerWidth),
      ).toBeLessThanOrEqual(0);
      await browser.close();
    },
    120_000,
  );
});

describe.skipIf(executable === undefined)("a phone whose browser shows the camera", () => {
  test("is told before the shutter how the picture is, and sends it", async () => {
    const { default: sharp } = await import("sharp");
    const frame = await sharp(samplePhoto)
      .resize({ width: 1600, height: 1200, fit: "cover" })
      .jpeg({ quality: 92 })
      .toBuffer();
    const page = await openPage();
    const film = join(page.root, "camera.mjpeg");
    writeFileSync(film, Buffer.concat([frame, frame, frame]));
    const headers = await signIn(page);
    const { capture } = (
      await send(page.port, `${survey}/capture`, { method: "POST", headers })
    ).json() as State;
    // Chromium plays the film as its camera; the loopback counts as a place that may have one.
    const browser = await chromium.launch({
      executablePath: executable!,
      args: [
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        `--use-file-for-fake-video-capture=${film}`,
      ],
    });
    const context = await browser.newContext({
      viewport: { width: 360, height: 740 },
      permissions: ["camera"],
    });
    const tab = await context.newPage();
    await tab.goto(capture.url!);
    await tab.getByRole("button", { name: "Camera with hints" }).click();
    await tab.locator(".live .message.good").waitFor({ timeout: 60_000 });
    await tab.getByRole("button", { name: "Take it" }).click();
    await tab.locator(".verdict-now").waitFor({ timeout: 60_000 });
    await expect.poll(() => readdirSync(join(page.folder, "photos")).length).toBe(1);
    await browser.close();
    await page.end();
  }, 150_000);
});

describe("hints before the shutter", () => {
  const frame = async (change: (image: Sharp) => Sharp): Promise<Uint8Array> => {
    const { default: sharp } = await import("sharp");
    const small = await sharp(samplePhoto).resize({ width: 1600 }).toBuffer();
    return change(sharp(small)).jpeg({ quality: 90 }).toBuffer();
  };

  test("a whole, sharp mat from straight above is good", async () => {
    expect(await captureHint(await frame((image) => image))).toMatchObject({ ok: true, code: "good" });
  });

  test("no mat, a dark picture, a blurred one and a far one are told apart, with what to do", async () => {
    const { default: sharp } = await import("sharp");
    const grey = await sharp({ create: { width: 800, height: 600, channels: 3, background: "#a09080" } })
      .jpeg()
      .toBuffer();
    expect(await captureHint(grey)).toMatchObject({ ok: false, code: "no-mat" });
    const dark = await captureHint(await frame((image) => image.linear(0.1, 0)));
    expect(dark).toMatchObject({ ok: false, code: "too-dark" });
    // 2.5 px of blur at 1600 px: a 12-megapixel photograph would have 6 px.
    const blurred = await captureHint(await frame((image) => image.blur(2.5)));
    expect(blurred).toMatchObject({ ok: false, code: "blurred" });
    const far = await captureHint(
      await frame((image) =>
        image
          .resize({ width: 700 })
          .extend({ top: 340, bottom: 340, left: 450, right: 450, background: "#c8c0b8" }),
      ),
    );
    expect(far).toMatchObject({ ok: false, code: "too-far" });
    for (const { advice } of [dark, blurred, far]) expect(advice!.length).toBeGreaterThan(10);
    expect(await captureHint(new Uint8Array(0))).toMatchObject({ ok: false });
  });
});

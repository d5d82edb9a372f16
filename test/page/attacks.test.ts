import { existsSync, mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { photoName, surveyName } from "../../src/page/server/names.js";
import { isSameSecret } from "../../src/page/server/secrets.js";
import { openPage, putPhoto, send, signIn, tinyPicture, type OpenPage } from "./page-fixture.js";

const secretText = "nobody may read this";
let page: OpenPage;
let window: Record<string, string>;
let jpeg: Buffer;
const survey = "/api/surveys/clock";

beforeAll(async () => {
  jpeg = await tinyPicture("#808080");
  page = await openPage({
    prepare: (folder) => {
      const outside = join(folder, "..");
      writeFileSync(join(outside, "secret.txt"), secretText);
      mkdirSync(join(outside, "other", "photos"), { recursive: true });
      writeFileSync(join(outside, "other", "photos", "theirs.jpg"), jpeg);
      symlinkSync(join(outside, "other", "photos", "theirs.jpg"), join(folder, "photos", "link.jpg"));
      putPhoto(folder, "one.jpg", jpeg);
    },
  });
  window = await signIn(page);
});
afterAll(() => page.end());

const state = async (): Promise<{ photos: { name: string }[]; revisions: Record<string, string> }> =>
  (await send(page.port, survey, { headers: window })).json() as never;

describe("who may ask", () => {
  test.each(["evil.example", "evil.example:80", "127.0.0.1", "127.0.0.1:1", "[::1]", "0.0.0.0"])(
    "a name that was rebound to this address is refused: Host %j",
    async (host) => {
      const { status, text } = await send(page.port, survey, { headers: { ...window, host } });
      expect([400, 421]).toContain(status);
      expect(text).not.toContain("photos");
    },
  );

  test("its own names are answered", async () => {
    for (const host of [`127.0.0.1:${page.port}`, `localhost:${page.port}`])
      expect((await send(page.port, survey, { headers: { cookie: window["cookie"]!, host } })).status).toBe(
        200,
      );
  });

  test.each([
    ["another origin", { origin: "http://evil.example" }],
    ["no origin at all", { origin: undefined }],
    ["a sandboxed page", { origin: "null" }],
    ["another port of this machine", { origin: "http://127.0.0.1:1" }],
    ["a page on another site, as the browser says", { "sec-fetch-site": "cross-site" }],
    ["a page on another port, as the browser says", { "sec-fetch-site": "same-site" }],
  ])("a post from %s changes nothing", async (_, own) => {
    const before = (await state()).photos.length;
    const headers = Object.fromEntries(
      Object.entries({ ...window, ...own }).filter(([, v]) => v !== undefined),
    ) as Record<string, string>;
    const { status } = await send(page.port, `${survey}/photos?name=x.jpg`, {
      method: "POST",
      headers,
      body: await tinyPicture("#123456"),
    });
    expect(status).toBe(403);
    expect((await state()).photos.length).toBe(before);
  });

  test("a form's post is no JSON, so it changes nothing either", async () => {
    const headers = { ...window, "content-type": "text/plain" };
    const { status } = await send(page.port, `${survey}/changes`, { method: "POST", headers, body: "{}" });
    expect(status).toBe(400);
  });

  test("without the secret nothing is told, and a wrong one opens nothing", async () => {
    for (const path of [survey, "/api/shelf", `${survey}/events`, `${survey}/photos/one.jpg`])
      expect((await send(page.port, path)).status, path).toBe(401);
    const wrong = await send(page.port, "/?key=AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA");
    expect(wrong.status).toBe(401);
    expect(wrong.headers["set-cookie"]).toBeUndefined();
    const cookie = `wheelsurvey-${page.port}=${"A".repeat(32)}`;
    expect((await send(page.port, survey, { headers: { cookie } })).status).toBe(401);
  });

  test("the cookie is for this server's pages only, and the secret leaves the address", async () => {
    const url = new URL(page.url);
    const { status, headers } = await send(page.port, `/${url.search}`);
    expect(status).toBe(302);
    expect(headers["location"]).toBe("/");
    expect(String(headers["set-cookie"])).toMatch(/HttpOnly/i);
    expect(String(headers["set-cookie"])).toMatch(/SameSite=Strict/i);
  });

  test("secrets are compared whole, whatever their length", () => {
    expect(isSameSecret("abc", "abc")).toBe(true);
    for (const wrong of ["", "ab", "abcd", "abd", undefined]) expect(isSameSecret(wrong, "abc")).toBe(false);
  });

  test("it listens on the loopback alone", async () => {
    const { networkInterfaces } = await import("node:os");
    const others = Object.values(networkInterfaces())
      .flatMap((list) => list ?? [])
      .filter(({ internal, family }) => !internal && family === "IPv4");
    for (const { address } of others)
      await expect(
        fetch(`http://${address}:${page.port}/`, { signal: AbortSignal.timeout(2000) }),
        address,
      ).rejects.toThrow();
  });
});

describe("what a page may do", () => {
  test("scripts and styles come from files of this server, and nobody may frame it", async () => {
    const { headers } = await send(page.port, "/");
    const policy = String(headers["content-security-policy"]);
    expect(policy).toContain("default-src 'none'");
    expect(policy).toContain("script-src 'self';");
    expect(policy).toContain("style-src 'self';");
    expect(policy).toContain("frame-ancestors 'none'");
    expect(policy).not.toMatch(/unsafe|\*|data:|https?:/);
    expect(headers["x-content-type-options"]).toBe("nosniff");
    expect(headers["referrer-policy"]).toBe("no-referrer");
  });

  test("its HTML holds no script and no style of its own", async () => {
    const { text } = await send(page.port, "/");
    expect(text).not.toMatch(/<script(?![^>]*src=)|<style|\sstyle=|\son\w+=/i);
  });
});

describe("nothing outside the survey", () => {
  test.each([
    "/api/surveys/..%2fother",
    "/api/surveys/../other",
    "/api/surveys/%2e%2e",
    "/api/surveys/other",
    `${survey}/photos/..%2f..%2fsecret.txt/picture`,
    `${survey}/photos/..%2fsurvey.yaml`,
    `${survey}/photos/..%2f..%2fsecret.txt`,
    `${survey}/photos/%2fetc%2fpasswd/picture?size=full`,
    `${survey}/photos/link.jpg/picture?size=full`,
    `${survey}/report/..%2f..%2fsecret.txt`,
    `${survey}/report/constructor`,
    `/assets/..%2findex.html`,
    `/assets/../../package.json`,
    `/..%2f..%2fsecret.txt`,
  ])("%s is not there", async (path) => {
    const { status, text } = await send(page.port, path, { headers: window });
    expect([400, 404]).toContain(status);
    expect(text).not.toContain(secretText);
  });

  test("links in photos/ are no photographs", async () => {
    expect((await state()).photos.map(({ name }) => name)).toEqual(["one.jpg"]);
  });

  test("a link in the place of a file is neither read nor written through", async () => {
    const target = join(page.root, "secret.txt");
    symlinkSync(target, join(page.folder, "corrections.yaml"));
    const { revisions, ...rest } = (await state()) as never as { revisions: Record<string, string> };
    expect(JSON.stringify(rest)).not.toContain(secretText);
    const body = JSON.stringify({
      change: { kind: "done", key: "x", done: true },
      revision: revisions["corrections"],
    });
    await send(page.port, `${survey}/changes`, {
      method: "POST",
      headers: { ...window, "content-type": "application/json" },
      body,
    });
    expect(readFileSync(target, "utf8")).toBe(secretText);
    const { rmSync } = await import("node:fs");
    rmSync(join(page.folder, "corrections.yaml"), { force: true });
    await send(page.port, `${survey}?fresh`, { headers: window });
  });

  test("a survey whose photos/ is a link is not opened", async () => {
    const folder = join(page.root, "trap");
    mkdirSync(folder);
    symlinkSync(join(page.root, "other", "photos"), join(folder, "photos"));
    await expect(openPage({ folder })).rejects.toThrow(/link/);
  });

  test("a movement file elsewhere is not this survey's", async () => {
    writeFileSync(join(page.folder, "survey.yaml"), "trains: ../secret.txt\n");
    await send(page.port, `${survey}?fresh`, { headers: window });
    const { text } = await send(page.port, `${survey}/movement`, { headers: window });
    expect(text).not.toContain(secretText);
    writeFileSync(join(page.folder, "survey.yaml"), "");
  });
});

describe("uploads", () => {
  const upload = (name: string, body: Buffer, more: Record<string, string> = {}) =>
    send(page.port, `${survey}/photos?name=${encodeURIComponent(name)}`, {
      method: "POST",
      headers: { ...window, ...more },
      body,
    });

  test("a file that is too large is refused before it arrives", async () => {
    const { status } = await upload("big.jpg", Buffer.alloc(0), { "content-length": "999000000" }).catch(
      () => ({ status: 413 }),
    );
    expect(status).toBe(413);
  });

  test("what is no picture is refused, whatever its name says, and leaves nothing behind", async () => {
    for (const body of [Buffer.from("<script>alert(1)</script>"), Buffer.from("MZ\0\0"), Buffer.alloc(0)])
      expect((await upload("page.jpg", body)).status).toBe(400);
    expect(
      readdirSync(join(page.folder, "photos")).filter((name) => !["one.jpg", "link.jpg"].includes(name)),
    ).toEqual([]);
  });

  test("hostile names become harmless ones, inside photos/", async () => {
    const names = [
      "../../evil.jpg",
      "..\\..\\evil.jpg",
      "/etc/cron.d/x.jpg",
      ".hidden.jpg",
      "con.jpg",
      "a\0b.jpg",
      `${"é".repeat(400)}.jpg`,
      "x.php",
      "<img src=x onerror=1>.jpg",
      "‮gpj.exe",
      "",
    ];
    for (const [i, name] of names.entries()) {
      const { status, json } = await upload(name, await tinyPicture(`rgb(${i * 9},40,90)`));
      expect(status, name).toBe(200);
      const kept = (json() as { name: string }).name;
      expect(kept).toMatch(/^[\p{L}\p{M}\p{N}_][\p{L}\p{M}\p{N} ._-]*\.jpg$/u);
      expect(existsSync(join(page.folder, "photos", kept))).toBe(true);
    }
    expect(readdirSync(page.root).sort()).toEqual(["clock", "other", "secret.txt", "trap"]);
  });

  test("a file of the same name does not replace another, and the same file is kept once", async () => {
    const first = await upload("twice.jpg", await tinyPicture("#00ff00"));
    const second = await upload("twice.jpg", await tinyPicture("#0000ff"));
    const again = await upload("other-name.jpg", await tinyPicture("#00ff00"));
    expect((first.json() as { name: string }).name).toBe("twice.jpg");
    expect((second.json() as { name: string }).name).toBe("twice-2.jpg");
    expect(again.json()).toEqual({ name: "twice.jpg", known: true });
  });

  test("names by themselves", () => {
    expect(photoName("IMG 1.JPEG", "jpeg", new Set())).toBe("IMG 1.jpeg");
    expect(photoName("t2-annotated.jpg", "jpeg", new Set())).toBe("t2_annotated.jpg");
    expect(surveyName("../x/..")).toBe("_x_");
    expect(surveyName(" ... ")).toBeUndefined();
  });
});

describe("changes from outside", () => {
  const post = async (change: unknown) => {
    const { revisions } = await state();
    const kind = (change as { kind: string }).kind;
    const revision =
      revisions[kind === "statement" ? "survey" : kind.includes("movement") ? "movement" : "corrections"];
    return send(page.port, `${survey}/changes`, {
      method: "POST",
      headers: { ...window, "content-type": "application/json" },
      body: JSON.stringify({ change, revision }),
    });
  };

  test.each([
    ["an unknown kind", { kind: "delete everything" }],
    ["a key too many", { kind: "done", key: "x", done: true, path: "/etc/passwd" }],
    ["a path of objects", { kind: "statement", path: ["__proto__", "polluted"], value: "x" }],
    ["a key that survey.yaml does not know", { kind: "statement", path: ["run"], value: "rm" }],
    ["a photograph that is not there", { kind: "photo", photo: "../../secret.txt", leftOut: true }],
    ["a part that is not there", { kind: "part", photo: "one.jpg", part: "w9", set: { toothCount: 7 } }],
    ["a count out of all reason", { kind: "part", photo: "one.jpg", part: "w1", set: { toothCount: 1e9 } }],
  ])("%s is refused and writes nothing", async (_, change) => {
    const before = readdirSync(page.folder).sort();
    const { status } = await post(change);
    expect([400, 404]).toContain(status);
    expect(readdirSync(page.folder).sort()).toEqual(before);
    expect(({} as Record<string, unknown>)["polluted"]).toBeUndefined();
  });

  test("a change that is far too long is refused", async () => {
    expect((await post({ kind: "movement text", text: "x".repeat(600_000) })).status).toBe(413);
  });

  test("hostile words come back as words", async () => {
    const value = `</script><img src=x onerror=alert(1)>\u202E "quotes": [`;
    expect((await post({ kind: "statement", path: ["title"], value })).status).toBe(200);
    expect(((await state()) as never as { statement: { title: string } }).statement.title).toBe(value);
  });

  test("nothing of all this was an error of the program", () => {
    expect(page.unexpected).toEqual([]);
  });
});

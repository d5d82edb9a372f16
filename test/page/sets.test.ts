import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import type { Change, PhotoDetail, SetState, SurveyState } from "../../src/page/wire.js";
import type { PhotoRecord } from "../../src/record/index.js";
import { call } from "../commands/recorded-io.js";
import { sceneSetOfKind, wheelOutline } from "../scenes/index.js";
import { openPage, putPhoto, send, signIn, tinyPicture, type Answer, type OpenPage } from "./page-fixture.js";

const samples = fileURLToPath(new URL("../../samples/sets/", import.meta.url));

interface Window {
  readonly state: () => Promise<SurveyState>;
  readonly sets: () => Promise<readonly SetState[]>;
  readonly change: (change: Change, revision?: string) => Promise<Answer>;
  readonly post: (path: string) => Promise<Answer>;
  readonly get: (path: string) => Promise<Answer>;
}

async function windowOf(page: OpenPage): Promise<Window> {
  const headers = { ...(await signIn(page)), "content-type": "application/json" };
  const at = (path: string): string => `/api/surveys/clock${path}`;
  const get = (path: string): Promise<Answer> => send(page.port, at(path), { headers });
  const state = async (): Promise<SurveyState> => (await get("")).json() as SurveyState;
  return {
    get,
    state,
    sets: async () => (await get("/sets")).json() as readonly SetState[],
    change: async (change, revision) =>
      send(page.port, at("/changes"), {
        method: "POST",
        headers,
        body: JSON.stringify({ change, revision: revision ?? (await state()).revisions.sets }),
      }),
    post: (path) => send(page.port, at(path), { method: "POST", headers, body: "{}" }),
  };
}

const names = async (window: Window): Promise<string[]> =>
  (await window.state()).photos.map(({ name }) => name);

describe("a set of photographs", () => {
  const folder = join(samples, "turn-eccentric-0.10");
  // Written down by the renderer that made the pictures; see samples/README.md.
  const truth = JSON.parse(readFileSync(join(folder, "truth.json"), "utf8")) as {
    eccentricity_mm: number;
  };
  let page: OpenPage;
  let window: Window;
  beforeAll(async () => {
    page = await openPage({
      prepare: (own) => {
        for (const name of ["1.jpg", "2.jpg", "3.jpg"]) cpSync(join(folder, name), join(own, "photos", name));
      },
    });
    window = await windowOf(page);
  });
  afterAll(() => page.end());

  test("is made of photographs of the survey, and says what it says of the wheel", async () => {
    const answer = await window.change({
      kind: "set",
      photos: ["1.jpg", "2.jpg", "3.jpg"],
      set: { kind: "turn", label: "t3" },
    });
    expect(answer.status).toBe(200);
    // In the form that `report` and `measure` read too.
    expect(readdirSync(join(page.folder, "photos", "turn-T3")).sort()).toEqual(["1.jpg", "2.jpg", "3.jpg"]);
    expect(
      readFileSync(join(page.folder, "photos/turn-T3/1.jpg")).equals(readFileSync(join(folder, "1.jpg"))),
    ).toBe(true);
    await expect.poll(async () => (await window.sets())[0]?.state, { timeout: 120_000 }).toBe("done");
    const [set] = await window.sets();
    const { record, figures } = set!.results[0]!;
    const { value, u } = record.eccentricity_mm!;
    // Interval of 99.7 %: one case, and it must not fail by chance.
    expect(Math.abs(value - truth.eccentricity_mm)).toBeLessThan(3 * u);
    expect(figures.slice(0, 2).map(({ caption }) => caption.split(".")[0])).toEqual([
      "Path of the centre",
      "Run-out about the arbor",
    ]);
    const plot = await window.get(`/sets/${figures[0]!.path}`);
    expect(plot.headers["content-type"]).toMatch(/^image\/svg\+xml/);
    expect(plot.text).toMatch(/^<svg xmlns="http:\/\/www.w3.org\/2000\/svg"[^]*magnified ×/);
    expect((await window.get(`/sets/${set!.key}/0/9.svg`)).status).toBe(404);
    // What it found is on the list of what to do.
    const todo = (await window.get("/todo")).json() as { items: { about: string; text: string }[] };
    expect(
      todo.items
        .filter(({ about }) => about === "set")
        .map(({ text }) => text)
        .join(),
    ).toMatch(/off the axis/);
  }, 150_000);

  test("is kept: opened again, it says the same without looking at a photograph anew", async () => {
    const results = join(page.folder, "results");
    const kept = (): number[] =>
      readdirSync(results)
        .filter((name) => name.endsWith(".set.gz"))
        .map((name) => statSync(join(results, name)).mtimeMs);
    await expect.poll(() => kept().length).toBe(3);
    const written = kept();
    const [before] = await window.sets();
    const again = await openPage({ folder: page.folder });
    const other = await windowOf(again);
    await expect.poll(async () => (await other.sets())[0]?.state, { timeout: 150_000 }).toBe("done");
    const [after] = await other.sets();
    await again.end();
    const eccentricity = (set: SetState | undefined) => set?.results[0]?.record.eccentricity_mm?.value ?? NaN;
    // What is kept is rounded to a hundredth of what can be measured.
    expect(eccentricity(after)).toBeCloseTo(eccentricity(before), 3);
    expect(after!.key).toBe(before!.key);
    // Looked at anew, they would have been written anew.
    expect(kept()).toEqual(written);
  }, 200_000);

  test("goes on without a photograph that is left out, and takes it back by undo", async () => {
    // The card TURN in the picture would put it into the set again, wherever it lies.
    expect((await window.sets())[0]!.byCard).toHaveLength(3);
    const { revisions } = await window.state();
    await window.change({ kind: "photo", photo: "turn-T3/2.jpg", leftOut: true }, revisions.corrections);
    expect((await window.sets())[0]!.photos).toEqual(["turn-T3/1.jpg", "turn-T3/3.jpg"]);
    await window.post("/undo");
    expect((await window.sets())[0]).toMatchObject({
      state: "done",
      results: [{ record: { kind: "turn" } }],
    });
    expect((await window.sets())[0]!.photos).toHaveLength(3);
  });

  test("goes on without a photograph that is taken out of the set, but not out of the survey", async () => {
    await window.change({ kind: "set", photos: ["turn-T3/2.jpg"], set: null });
    // In photos/ itself its card would put it into the set again.
    expect(await names(window)).toEqual(["no-set/2.jpg", "turn-T3/1.jpg", "turn-T3/3.jpg"]);
    expect((await window.sets()).map(({ photos }) => photos)).toEqual([["turn-T3/1.jpg", "turn-T3/3.jpg"]]);
    const { photos } = await window.state();
    expect(photos.map(({ state }) => state)).not.toContain("left out");
    await window.post("/undo");
    expect((await window.sets())[0]!.photos).toHaveLength(3);
  });

  test("goes back to the list of photographs by undo, and into the set by redo", async () => {
    await window.post("/undo");
    expect(await names(window)).toEqual(["1.jpg", "2.jpg", "3.jpg"]);
    expect((await window.state()).redo).toBe("3 photographs into the turn set T3");
    await window.post("/redo");
    expect(await names(window)).toEqual([1, 2, 3].map((n) => `turn-T3/${n}.jpg`));
  });
});

describe("a play set", () => {
  const folder = join(samples, "play-radial-0.08");
  let page: OpenPage;
  let window: Window;
  beforeAll(async () => {
    page = await openPage({
      prepare: (own) => {
        mkdirSync(join(own, "photos/play-T2"));
        for (const name of readdirSync(folder).filter((each) => each.endsWith(".jpg")))
          cpSync(join(folder, name), join(own, "photos/play-T2", name));
      },
    });
    window = await windowOf(page);
  });
  afterAll(() => page.end());

  test("lays the two photographs that are furthest apart over each other, as the report does", async () => {
    await expect.poll(async () => (await window.sets())[0]?.state, { timeout: 240_000 }).toBe("done");
    const [set] = await window.sets();
    const { record, figures } = set!.results[0]!;
    expect(record.verdict).toBe("loose");
    expect(figures[0]!.caption).toMatch(/^Laid over each other\. .*sideways play/);
    expect(figures[0]!.path).toBe(`${set!.key}/0/laid-over.svg`);
    const answer = await window.get(`/sets/${figures[0]!.path}`);
    expect(answer.headers["content-type"]).toMatch(/^image\/svg\+xml/);
    const jpeg = /href="data:image\/jpeg;base64,([^"]+)"/.exec(answer.text)![1]!;
    const { default: sharp } = await import("sharp");
    const picture = await sharp(Buffer.from(jpeg, "base64")).raw().toBuffer({ resolveWithObject: true });
    // Orange and blue on edges of the wheel, half a pixel of the photograph wide; the paper beside it is grey.
    const { data, info } = picture;
    const tints = { orange: 0, blue: 0 };
    for (let p = 0; p < data.length; p += 3) {
      if (data[p]! - data[p + 2]! > 25) tints.orange++;
      if (data[p + 2]! - data[p]! > 25) tints.blue++;
    }
    for (const count of Object.values(tints)) {
      expect((3 * count) / data.length).toBeGreaterThan(0.002);
      expect((3 * count) / data.length).toBeLessThan(0.2);
    }
    for (const x of [5, 20, 35]) {
      const at = 3 * (10 * info.width + x);
      expect(Math.abs(data[at]! - data[at + 2]!)).toBeLessThan(12);
    }
    expect((await window.get(`/sets/${set!.key}/7/laid-over.svg`)).status).toBe(404);
    expect((await window.get("/sets/no-such/0/laid-over.svg")).status).toBe(404);
    expect(page.unexpected).toEqual([]);
  }, 260_000);
});

describe("a height set", () => {
  const folder = join(samples, "height");
  // Written down by the renderer that made the pictures; see samples/README.md.
  const truth = JSON.parse(readFileSync(join(folder, "truth.json"), "utf8")) as Record<string, number>;
  const shots = ["height-T3/1.jpg", "height-T3/2.jpg"];
  let page: OpenPage;
  let window: Window;
  let tipMm: number;
  beforeAll(async () => {
    const wheel = sceneSetOfKind("height", truth["seed"]!).scenes[0]!.parts[0]!;
    if (wheel.type !== "wheel") throw new Error("expected a wheel");
    tipMm = wheelOutline(wheel.outline).tipDiameterMm;
    page = await openPage({
      prepare: (own) => {
        mkdirSync(join(own, "photos/height-T3"));
        for (const name of ["1.jpg", "2.jpg"])
          cpSync(join(folder, name), join(own, "photos/height-T3", name));
        // Another file with the same picture: a photograph of the wheel that belongs to no set.
        const again = Buffer.concat([readFileSync(join(folder, "1.jpg")), Buffer.from([0])]);
        writeFileSync(join(own, "photos/alone.jpg"), again);
        const { mat_across_mm: across, mat_along_mm: along } = truth;
        writeFileSync(join(own, "survey.yaml"), `scale: { across: ${across}, along: ${along} }\n`);
      },
    });
    window = await windowOf(page);
  });
  afterAll(() => page.end());

  const measured = async (name: string): Promise<PhotoRecord> =>
    ((await window.get(`/photos/${encodeURIComponent(name)}`)).json() as PhotoDetail).measured!;
  /** Names of the photographs that stand at a height of a set; undefined while some are measured. */
  const atHeights = async (): Promise<string[] | undefined> => {
    const { photos } = await window.state();
    if (photos.some(({ state }) => state !== "done")) return undefined;
    return photos.filter(({ heightsFromSetsMm }) => heightsFromSetsMm?.length === 1).map(({ name }) => name);
  };
  const resultFiles = (): string[] => readdirSync(join(page.folder, "results")).sort();
  /** Results are shown before they are on the disk. */
  const settledFiles = async (): Promise<string[]> => {
    await expect.poll(() => resultFiles().filter((name) => name.endsWith(".partial"))).toEqual([]);
    return resultFiles();
  };

  test("the sizes of its wheel are measured at the height that it found, in all photographs of the wheel", async () => {
    await expect.poll(atHeights, { timeout: 240_000 }).toEqual(["alone.jpg", ...shots]);
    const [set] = await window.sets();
    const { record, usedIn } = set!.results[0]!;
    expect(usedIn).toEqual(["alone.jpg", ...shots]);
    for (const name of ["alone.jpg", ...shots]) {
      const { parts, settings } = await measured(name);
      const { value, u } = parts[0]!.tip_diameter_mm!;
      // Taken as lying on the mat, it would be 2.7 mm too large.
      expect(Math.abs(value - tipMm)).toBeLessThan(0.15);
      expect(Math.abs(value - tipMm)).toBeLessThan(2 * u);
      expect(parts[0]!.findings.map(({ code }) => code)).toContain("height-from-set");
      expect(settings!.face_heights_mm).toMatchObject([
        { label: "T3", height_mm: record.face_height_mm!.value, from: "height-set" },
      ]);
    }
  }, 260_000);

  test("a height that a person types goes before it; undo brings it back without measuring anew", async () => {
    const before = await settledFiles();
    const { revisions } = await window.state();
    const change = { kind: "face height", photo: "alone.jpg", label: "T3", mm: 9 } as const;
    expect((await window.change(change, revisions.corrections)).status).toBe(200);
    await expect.poll(atHeights, { timeout: 120_000 }).toEqual(shots);
    expect((await measured("alone.jpg")).parts[0]!.face_height_mm).toMatchObject({ value: 9, u: 0.06 });
    // The record at that height, which on a busy machine comes later than its result.
    await expect.poll(() => resultFiles().length, { timeout: 60_000 }).toBe(before.length + 1);
    const files = await settledFiles();
    await window.post("/undo");
    await expect.poll(atHeights, { timeout: 60_000 }).toEqual(["alone.jpg", ...shots]);
    expect(resultFiles()).toEqual(files);
  }, 150_000);

  test("taken apart, its photographs stand as they were measured at first; undo brings the height back", async () => {
    await window.change({ kind: "set", photos: shots, set: null });
    await expect.poll(atHeights, { timeout: 60_000 }).toEqual([]);
    const { parts } = await measured("1.jpg");
    expect(parts[0]!.tip_diameter_mm!.value - tipMm).toBeGreaterThan(2);
    expect(parts[0]!.findings.map(({ code }) => code)).not.toContain("height-from-set");
    await window.post("/undo");
    await expect.poll(atHeights, { timeout: 60_000 }).toEqual(["alone.jpg", ...shots]);
  }, 90_000);

  test("report measures nothing anew that the page has measured", async () => {
    const files = await settledFiles();
    const { exitCode } = await call("report", page.folder, "--workers", "1");
    expect(exitCode).toBe(0);
    expect(resultFiles()).toEqual(files);
    expect(page.unexpected).toEqual([]);
  }, 120_000);
});

describe("photographs that move", () => {
  let page: OpenPage;
  let window: Window;
  beforeAll(async () => {
    const pictures = await Promise.all(["#111111", "#222222", "#333333"].map(tinyPicture));
    page = await openPage({
      prepare: (own) => pictures.forEach((data, i) => putPhoto(own, `${i + 1}.jpg`, data)),
    });
    window = await windowOf(page);
  });
  afterAll(() => page.end());

  test("two windows: the second, which did not see what the first did, is refused and moves nothing", async () => {
    const { sets } = (await window.state()).revisions;
    const into = (photo: string, label: string): Change => ({
      kind: "set",
      photos: [photo],
      set: { kind: "play", label },
    });
    expect((await window.change(into("1.jpg", "S1"), sets)).status).toBe(200);
    const second = await window.change(into("2.jpg", "S2"), sets);
    expect(second.status).toBe(409);
    expect((second.json() as { error: string }).error).toMatch(/another window/);
    expect(await names(window)).toEqual(["2.jpg", "3.jpg", "play-S1/1.jpg"]);
  });

  test("the folder of a set goes with its last photograph", async () => {
    await window.change({ kind: "set", photos: ["play-S1/1.jpg"], set: null });
    expect(existsSync(join(page.folder, "photos/play-S1"))).toBe(false);
  });

  test("a photograph never takes the place of another", async () => {
    mkdirSync(join(page.folder, "photos/turn-T1"));
    cpSync(join(page.folder, "photos/3.jpg"), join(page.folder, "photos/turn-T1/2.jpg"));
    await window.get("?fresh");
    await window.change({ kind: "set", photos: ["2.jpg"], set: { kind: "turn", label: "T1" } });
    expect(readdirSync(join(page.folder, "photos/turn-T1")).sort()).toEqual(["2-2.jpg", "2.jpg"]);
    await window.post("/undo");
    expect(readdirSync(join(page.folder, "photos/turn-T1"))).toEqual(["2.jpg"]);
    rmSync(join(page.folder, "photos/turn-T1"), { recursive: true });
    await window.get("?fresh");
  });

  test("killed between noting a move and making it, undo and redo still end where they should", async () => {
    await window.change({ kind: "set", photos: ["3.jpg"], set: { kind: "turn", label: "T2" } });
    // As the disk looks when the program ended before the move.
    renameSync(join(page.folder, "photos/turn-T2/3.jpg"), join(page.folder, "photos/3.jpg"));
    expect((await window.post("/undo")).status).toBe(200);
    expect(existsSync(join(page.folder, "photos/3.jpg"))).toBe(true);
    expect((await window.post("/redo")).status).toBe(200);
    expect(await names(window)).toEqual(["1.jpg", "2.jpg", "turn-T2/3.jpg"]);
    await window.post("/undo");
  });

  test("undo does not touch what another program moved since", async () => {
    await window.change({ kind: "set", photos: ["3.jpg"], set: { kind: "turn", label: "T2" } });
    rmSync(join(page.folder, "photos/turn-T2/3.jpg"));
    expect((await window.post("/undo")).status).toBe(409);
    putPhoto(page.folder, "turn-T2/3.jpg", await tinyPicture("#333333"));
    expect((await window.post("/undo")).status).toBe(200);
  });

  test("before and after the work is said by the name, as the report reads it, and taken back", async () => {
    const stage = (photo: string, to: "before" | "after" | null): Promise<Answer> =>
      window.change({ kind: "stage", photo, stage: to });
    await stage("1.jpg", "before");
    await stage("2.jpg", "after");
    expect(await names(window)).toEqual(["1-before.jpg", "2-after.jpg", "3.jpg"]);
    await stage("1-before.jpg", "after");
    expect(await names(window)).toEqual(["1-after.jpg", "2-after.jpg", "3.jpg"]);
    await stage("1-after.jpg", null);
    await window.post("/undo");
    await window.post("/undo");
    await window.post("/undo");
    await window.post("/undo");
    expect(await names(window)).toEqual(["1.jpg", "2.jpg", "3.jpg"]);
  });

  test.each([
    ["a path for a label", { kind: "set", photos: ["1.jpg"], set: { kind: "turn", label: "../../T1" } }, 400],
    ["another kind", { kind: "set", photos: ["1.jpg"], set: { kind: "../x" } }, 400],
    ["a path for a photograph", { kind: "set", photos: ["../survey.yaml"], set: { kind: "turn" } }, 404],
    ["a path for one that is renamed", { kind: "stage", photo: "../../x.jpg", stage: "after" }, 404],
  ])("no way out of the folder: %s", async (_, change, status) => {
    expect((await window.change(change as Change)).status).toBe(status);
    expect(await names(window)).toEqual(["1.jpg", "2.jpg", "3.jpg"]);
  });

  test("a link in the place of a set's folder is neither read nor written through", async () => {
    const outside = mkdtempSync(join(tmpdir(), "outside-"));
    cpSync(join(page.folder, "photos/1.jpg"), join(outside, "secret.jpg"));
    symlinkSync(outside, join(page.folder, "photos/turn-T5"));
    await window.get("?fresh");
    expect(await names(window)).toEqual(["1.jpg", "2.jpg", "3.jpg"]);
    const answer = await window.change({
      kind: "set",
      photos: ["1.jpg"],
      set: { kind: "turn", label: "T5" },
    });
    expect(answer.status).toBe(400);
    expect(readdirSync(outside)).toEqual(["secret.jpg"]);
    expect(await names(window)).toEqual(["1.jpg", "2.jpg", "3.jpg"]);
    rmSync(outside, { recursive: true });
  });

  test("nothing of all this was an error of the program", () => {
    expect(page.unexpected).toEqual([]);
  });
});

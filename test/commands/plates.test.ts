import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { call } from "./recorded-io.js";

/** Invented movement: two arbors on the long side of a triangle of 30, 40 and 50 mm, four pillars in no rectangle. */
const holes = [
  { id: "H1", kind: "pivot", at: [0, 0] },
  { id: "H2", kind: "pivot", at: [30, 0] },
  { id: "H3", kind: "pivot", at: [30, 40] },
  { id: "H4", kind: "pillar", at: [-20, -25] },
  { id: "H5", kind: "pillar", at: [48, -22] },
  { id: "H6", kind: "pillar", at: [41, 55] },
  { id: "H7", kind: "pillar", at: [-23, 47] },
] as const;

type At = readonly [number, number];

const plate = (label: string, move: (at: At) => At, only: (id: string) => boolean = () => true): object => ({
  id: "part-1",
  kind: "plate",
  label,
  centre_px: [0, 0],
  findings: [],
  plate: { outline_mm: [], cut_off: false, scale_u: 0.0005 },
  holes: holes
    .filter(({ id }) => only(id))
    .map(({ id, kind, at }) => ({
      id,
      kind,
      centre_mm: move(at),
      centre_u_mm: 0.01,
      diameter_mm: { value: kind === "pivot" ? 2 : 4.5, u: 0.02 },
    })),
});

let folder: string;
beforeAll(async () => void (folder = await mkdtemp(join(tmpdir(), "plates-"))));
afterAll(() => rm(folder, { recursive: true }));

async function measured(...parts: object[]): Promise<string> {
  const path = join(folder, "measured.json");
  const photos = parts.map((part, i) => ({
    file: `${i}.jpg`,
    scale: { source: "mat", px_per_mm: 10 },
    parts: [part],
    problems: [],
  }));
  await writeFile(
    path,
    JSON.stringify({
      schema: "wheelsurvey/measurement/1",
      software: { name: "wheelsurvey", version: "0.0.0" },
      photos,
      sets: [],
    }),
  );
  return path;
}

const turned = ([x, y]: At): At => [0.8 * x - 0.6 * y + 12, 0.6 * x + 0.8 * y - 7];
/** Seen from its own outside: mirrored, and the arbor of H2 leans by 0.2 mm. */
const fromBehind = ([x, y]: At): At => turned([-(x === 30 && y === 0 ? x + 0.2 : x), y]);

test("lays both plates over each other: distances of the triangle, and the arbor that leans", async () => {
  const file = await measured(
    plate("P1", (at) => at),
    plate("P2", fromBehind),
  );
  const { out, exitCode } = await call("plates", file, "--json");
  expect(exitCode).toBe(0);
  const read = JSON.parse(out) as {
    match: { matched: boolean; arbors: { first: string; off_mm: number }[] };
    distances: { from: string; to: string; value: number; both_plates: boolean }[];
  };
  expect(read.match.matched).toBe(true);
  const leaning = read.match.arbors.filter((a) => a.off_mm > 0.12).map((a) => a.first);
  expect(leaning).toEqual(["H2"]);
  // 30, 40 and 50 mm; 0.1 mm more where the mean of both plates has the leaning arbor in it. 50 mm is too far to mesh.
  const found = read.distances.map((d) => [`${d.from}${d.to}`, Number(d.value.toFixed(2)), d.both_plates]);
  expect(found).toEqual([
    ["H1H2", 30.1, true],
    ["H2H3", 40, true],
  ]);
});

// m (N + n) / 2, general gearing: 0.625 x (152 + 8) / 2 = 50.
test.each([
  ["H1,H3=152/8@0.625±0.0003", "the depth is right"],
  ["H1,H3=150/8@0.625±0.0003", "too shallow"],
  ["H1,H3=154/8@0.625±0.0003", "too deep"],
  ["H1,H3=180/8@0.625", "these two cannot mesh"],
  ["H1,H3=152/8@0.625", "cannot tell"],
])("--depth %s: %s", async (wish, words) => {
  const file = await measured(
    plate("P1", (at) => at),
    plate("P2", fromBehind),
  );
  const { out } = await call("plates", file, "--depth", wish);
  expect(out).toContain(words);
});

test("puts a large plate together from two photographs that overlap", async () => {
  const left = plate(
    "P1",
    (at) => at,
    (id) => id !== "H6",
  );
  const right = plate("P1", turned, (id) => id !== "H4");
  const { out, exitCode } = await call("plates", await measured(left, right));
  expect(exitCode).toBe(0);
  expect(out).toContain("P1: 7 holes, 2 photographs put together");
});

test("says what to do where two photographs of one plate share too few holes, or there is no plate", async () => {
  const left = plate(
    "P1",
    (at) => at,
    (id) => id < "H4",
  );
  const right = plate("P1", turned, (id) => id > "H2");
  const apart = await call("plates", await measured(left, right));
  expect(apart.exitCode).toBe(2);
  expect(apart.err).toMatch(/overlap more, or take the whole plate on the A3 mat/);
  const none = await call("plates", await measured());
  expect(none.exitCode).toBe(2);
  expect(none.err).toMatch(/no plate/);
  const unknown = await call("plates", await measured(plate("P1", (at) => at)), "--first", "P9");
  expect(unknown.err).toMatch(/expected the tag of a plate: P1/);
});

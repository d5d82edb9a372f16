import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { matFromPixel } from "../../src/geometry/index.js";
import { findAndMeasureParts } from "../../src/parts/index.js";
import { readPhoto } from "../../src/photo/index.js";
import { standardUncertainty } from "../../src/quantity/index.js";
import { solveView } from "../../src/view/index.js";
import type { SceneKind, SceneTruth } from "../scenes/index.js";
import { errorStatistics, type ErrorOfOne } from "./error-statistics.js";
import { rendererKey, scenePhoto } from "./scene-photos.js";

const usage = `Measure rendered plates with known truth and compare.

  npx tsx test/accuracy/run-plates.ts [FIRST_SEED] [SEEDS] [--holes]

Front and back plate of each seed, 12 megapixels (12 px/mm). Centres are compared as the view places the true
pixels: what camera and print add to all distances is stated apart (scale_u), and tested with the view.
--holes: every hole on a line of its own.
`;

const folder = join(fileURLToPath(new URL("../..", import.meta.url)), "out", "known-plates");
const numbers = process.argv.slice(2).filter((a) => !a.startsWith("--"));
const [first, count] = [Number(numbers[0] ?? 501), Number(numbers[1] ?? 2)];
const eachHole = process.argv.includes("--holes");

/** Centre distances of arbors that may mesh. */
const farthestMeshMm = 40;
const bars = { centre: 0.03, diameter: 0.04, ovality: 0.05, distance: 0.04 };
const errors: Record<keyof typeof bars, ErrorOfOne[]> = {
  centre: [],
  diameter: [],
  ovality: [],
  distance: [],
};
const directionsDeg: number[] = [];
let [found, missed, extra, named] = [0, 0, 0, 0];

async function measure(kind: SceneKind, seed: number, key: string): Promise<void> {
  const { path, bars: readings } = await scenePhoto(folder, kind, seed, "12mp", key);
  const photo = await readPhoto(path);
  if (!photo.ok) throw new Error(photo.problem.text);
  const view = await solveView(photo.value, readings);
  const kept = JSON.parse(await readFile(path.replace(/jpg$/, "json"), "utf8")) as { truth: SceneTruth };
  const truth = kept.truth.plates[0]!;
  const everyPartMm = Math.round(truth.faceHeightMm * 20) / 20;
  const { parts } = await findAndMeasureParts(photo.value, view, { heights: { everyPartMm } });
  const plate = parts.find((p) => p.kind === "plate");
  if (plate?.holes === undefined) {
    missed += truth.holes.length;
    return;
  }
  const pairs = truth.holes.flatMap((t) => {
    const at = matFromPixel(view.geometry, ...t.centrePx, truth.faceHeightMm);
    const hole = plate.holes!.find((h) => Math.hypot(h.centreMm[0] - at[0], h.centreMm[1] - at[1]) < 1);
    return hole === undefined ? [] : [{ t, at, hole }];
  });
  found += pairs.length;
  missed += truth.holes.length - pairs.length;
  extra += plate.holes.length - pairs.length;
  pairs.forEach(({ t, at, hole }, i) => {
    if (hole.kind === t.use) named++;
    if (eachHole) {
      const off = hole.ovalityMm.value - t.ovalityMm;
      process.stdout.write(
        `${kind} ${seed} ${hole.id} ${t.diameterMm.toFixed(2)} mm: wider by ${(hole.diameterMm.value - t.diameterMm).toFixed(3)}, ` +
          `oval ${t.ovalityMm.toFixed(2)} ${off < 0 ? "" : "+"}${off.toFixed(3)}, ` +
          `centre ${(hole.centreMm[0] - at[0]).toFixed(3)} ${(hole.centreMm[1] - at[1]).toFixed(3)}; ` +
          `${t.use} taken for ${hole.kind}\n`,
      );
    }
    for (const k of [0, 1] as const)
      errors.centre.push({ error: hole.centreMm[k] - at[k], u: hole.uCentreMm, allowed: bars.centre });
    errors.diameter.push({
      error: hole.diameterMm.value - t.diameterMm,
      u: standardUncertainty(hole.diameterMm),
      allowed: bars.diameter,
    });
    errors.ovality.push({
      error: hole.ovalityMm.value - t.ovalityMm,
      u: standardUncertainty(hole.ovalityMm),
      allowed: bars.ovality,
    });
    if (t.ovalityMm > 0.1 && hole.ovalityAngleRad) {
      const off = hole.ovalityAngleRad.value - t.ovalityAngleRad;
      directionsDeg.push((Math.abs(Math.atan2(Math.sin(2 * off), Math.cos(2 * off))) * 90) / Math.PI);
    }
    for (const other of pairs.slice(i + 1)) {
      const truly = Math.hypot(at[0] - other.at[0], at[1] - other.at[1]);
      if (truly > farthestMeshMm) continue;
      const [a, b] = [hole.centreMm, other.hole.centreMm];
      errors.distance.push({
        error: Math.hypot(a[0] - b[0], a[1] - b[1]) - truly,
        u: Math.hypot(hole.uCentreMm, other.hole.uCentreMm),
        allowed: bars.distance,
      });
    }
  });
}

if (!Number.isInteger(first) || !Number.isInteger(count)) process.stderr.write(usage);
else {
  const key = await rendererKey();
  for (let seed = first; seed < first + count; seed++)
    for (const kind of ["plate-front", "plate-back"] as const) await measure(kind, seed, key);
  process.stdout.write(
    `holes found ${found}, missed ${missed}, false ${extra}; use guessed right ${named}\n`,
  );
  for (const [name, list] of Object.entries(errors)) {
    const s = errorStatistics(list);
    if (s)
      process.stdout.write(
        `${name}, mm: n ${s.count}, bias ${s.bias.toFixed(3)}, rms ${s.rms.toFixed(3)}, largest ${s.largest.toFixed(3)}, ` +
          `within the bar ${s.withinBar}, 95 % interval holds ${s.covered}\n`,
      );
  }
  const near = directionsDeg.filter((d) => d < 15).length;
  process.stdout.write(
    `direction of ovals above 0.1 mm: ${near} of ${directionsDeg.length} within 15 degrees\n`,
  );
}

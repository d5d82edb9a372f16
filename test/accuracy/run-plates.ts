import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import { matFromPixel } from "../../src/geometry/index.js";
import { findAndMeasureParts, type Hole } from "../../src/parts/index.js";
import { networksForPhoto } from "../../src/pipeline/index.js";
import { readPhoto } from "../../src/photo/index.js";
import { standardUncertainty } from "../../src/quantity/index.js";
import { solveView } from "../../src/view/index.js";
import { errorStatistics, type ErrorOfOne } from "./error-statistics.js";
import { samplePlates, scenePlate, type KnownHole, type KnownPlate } from "./known-plate.js";
import { rendererKey } from "./scene-photos.js";

const usage = `Measure rendered plates with known truth and compare.

  npx tsx test/accuracy/run-plates.ts [FIRST_SEED] [SEEDS] [--holes] [--network]
  npx tsx test/accuracy/run-plates.ts --truth FOLDER [--holes] [--network]

Front and back plate of each seed, 12 megapixels (12 px/mm); or the plates of a folder of truth documents, such as
samples/movement-parts/truth. Centres are compared as the view places the true pixels: what camera and print add to
all distances is stated apart (scale_u), and tested with the view.
--only NAMES: of the folder, those whose names match this regular expression.
--holes: every hole on a line of its own.
--network: ask the networks too, as the program does.
`;

const { values: options, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    truth: { type: "string" },
    only: { type: "string", default: "" },
    holes: { type: "boolean", default: false },
    network: { type: "boolean", default: false },
  },
});
const folder = join(fileURLToPath(new URL("../..", import.meta.url)), "out", "known-plates");
const [first, count] = [Number(positionals[0] ?? 501), Number(positionals[1] ?? 2)];

/** Centre distances of arbors that may mesh. */
const farthestMeshMm = 40;
/** Wear from here on is told where it is called certain. */
const wornMm = 0.05;
const bars = { centre: 0.03, diameter: 0.04, ovality: 0.05, distance: 0.04 };

/** Errors of all plates, or of one. */
class PlateErrors {
  readonly errors: Record<keyof typeof bars, ErrorOfOne[]> = {
    centre: [],
    diameter: [],
    ovality: [],
    distance: [],
  };
  readonly directionsDeg: number[] = [];
  found = 0;
  missed = 0;
  extra = 0;
  posts = 0;
  unclear = 0;
  named = 0;
  worn = 0;
  wornTold = 0;
  falselyWorn = 0;

  addHole(truth: KnownHole, at: readonly [number, number], hole: Hole): void {
    if (hole.kind === truth.use) this.named++;
    for (const k of [0, 1] as const)
      this.errors.centre.push({ error: hole.centreMm[k] - at[k], u: hole.uCentreMm, allowed: bars.centre });
    const u = standardUncertainty(hole.ovalityMm);
    this.errors.diameter.push({
      error: hole.diameterMm.value - truth.diameterMm,
      u: standardUncertainty(hole.diameterMm),
      allowed: bars.diameter,
    });
    this.errors.ovality.push({
      error: hole.ovalityMm.value - truth.ovalityMm,
      u,
      allowed: bars.ovality,
    });
    const told = hole.ovalityMm.value - 2 * u > wornMm / 2;
    if (truth.ovalityMm > wornMm) this.worn++;
    if (truth.ovalityMm > wornMm && told) this.wornTold++;
    if (truth.ovalityMm === 0 && told) this.falselyWorn++;
    if (truth.ovalityMm > 0.1 && hole.ovalityAngleRad) {
      const off = hole.ovalityAngleRad.value - truth.ovalityAngleRad;
      this.directionsDeg.push((Math.abs(Math.atan2(Math.sin(2 * off), Math.cos(2 * off))) * 90) / Math.PI);
    }
  }

  addDistance(error: number, u: number): void {
    this.errors.distance.push({ error, u, allowed: bars.distance });
  }

  toString(): string {
    const lines = Object.entries(this.errors).flatMap(([name, list]) => {
      const s = errorStatistics(list);
      return s === undefined
        ? []
        : [
            `${name}, mm: n ${s.count}, bias ${s.bias.toFixed(3)}, rms ${s.rms.toFixed(3)}, largest ${s.largest.toFixed(3)}, ` +
              `within the bar ${s.withinBar}, 95 % interval holds ${s.covered}`,
          ];
    });
    const near = this.directionsDeg.filter((d) => d < 15).length;
    return [
      `holes found ${this.found}, missed ${this.missed}, false ${this.extra}; named as posts or not understood ${this.unclear}, of ${this.posts} posts; use guessed right ${this.named}`,
      ...lines,
      `direction of ovals above 0.1 mm: ${near} of ${this.directionsDeg.length} within 15 degrees`,
      `worn by more than ${wornMm} mm: ${this.wornTold} of ${this.worn} told, and ${this.falselyWorn} round ones called worn`,
      "",
    ].join("\n");
  }
}

const all = new PlateErrors();

async function measure(known: KnownPlate): Promise<void> {
  const photo = await readPhoto(known.path);
  if (!photo.ok) throw new Error(photo.problem.text);
  const view = await solveView(photo.value, known.bars);
  const everyPartMm = Math.round(known.faceHeightMm * 20) / 20;
  const { parts } = await findAndMeasureParts(photo.value, view, {
    heights: { everyPartMm },
    ...(options.network ? networksForPhoto().ask : {}),
  });
  const plate = parts.find((p) => p.kind === "plate");
  const holes = plate?.holes ?? [];
  // As many places as its findings list.
  const named = (plate?.findings ?? [])
    .filter(({ code }) => code === "post-in-plate" || code === "hole-unclear")
    .reduce(
      (sum, { text }) =>
        sum + (text.match(/ mm wide at /g) ?? []).length + Number(/; (\d+) more/.exec(text)?.[1] ?? 0),
      0,
    );
  const own = new PlateErrors();
  const pairs = known.holes.flatMap((t) => {
    const at = matFromPixel(view.geometry, t.centrePx[0], t.centrePx[1], known.faceHeightMm);
    const hole = holes.find((h) => Math.hypot(h.centreMm[0] - at[0], h.centreMm[1] - at[1]) < 1);
    return hole === undefined ? [] : [{ t, at, hole }];
  });
  for (const totals of [own, all]) {
    totals.found += pairs.length;
    totals.missed += known.holes.length - pairs.length;
    totals.extra += holes.length - pairs.length;
    totals.posts += known.posts.length;
    totals.unclear += named;
    pairs.forEach(({ t, at, hole }, i) => {
      totals.addHole(t, at, hole);
      for (const other of pairs.slice(i + 1)) {
        const truly = Math.hypot(at[0] - other.at[0], at[1] - other.at[1]);
        if (truly > farthestMeshMm) continue;
        const [a, b] = [hole.centreMm, other.hole.centreMm];
        totals.addDistance(
          Math.hypot(a[0] - b[0], a[1] - b[1]) - truly,
          Math.hypot(hole.uCentreMm, other.hole.uCentreMm),
        );
      }
    });
  }
  if (!options.holes) return;
  for (const hole of holes.filter((h) => !pairs.some((p) => p.hole === h)))
    process.stdout.write(
      `${known.name} ${hole.id}: ${hole.diameterMm.value.toFixed(2)} mm at ${hole.centreMm.map((v) => v.toFixed(1)).join(", ")} is no hole\n`,
    );
  for (const t of known.holes.filter((h) => !pairs.some((p) => p.t === h))) {
    const at = matFromPixel(view.geometry, t.centrePx[0], t.centrePx[1], known.faceHeightMm);
    process.stdout.write(
      `${known.name}: ${t.diameterMm.toFixed(2)} mm at ${at.map((v) => v.toFixed(1)).join(", ")} is missed\n`,
    );
  }
  for (const { t, at, hole } of pairs) {
    const off = hole.ovalityMm.value - t.ovalityMm;
    const u = standardUncertainty;
    process.stdout.write(
      `${known.name} ${hole.id} ${t.diameterMm.toFixed(2)} mm: wider by ${(hole.diameterMm.value - t.diameterMm).toFixed(3)} (u ${u(hole.diameterMm).toFixed(3)}), ` +
        `oval ${t.ovalityMm.toFixed(2)} ${off < 0 ? "" : "+"}${off.toFixed(3)} (u ${u(hole.ovalityMm).toFixed(3)}), ` +
        `centre ${(hole.centreMm[0] - at[0]).toFixed(3)} ${(hole.centreMm[1] - at[1]).toFixed(3)} (u ${hole.uCentreMm.toFixed(3)}); ` +
        `${t.use} taken for ${hole.kind}\n`,
    );
  }
  process.stdout.write(`${known.name}: ${own.toString()}`);
}

if (options.truth !== undefined) {
  const wanted = new RegExp(options.only);
  for (const plate of await samplePlates(options.truth)) if (wanted.test(plate.name)) await measure(plate);
  process.stdout.write(all.toString());
} else if (!Number.isInteger(first) || !Number.isInteger(count)) process.stderr.write(usage);
else {
  const key = await rendererKey();
  for (let seed = first; seed < first + count; seed++)
    for (const kind of ["plate-front", "plate-back"] as const)
      await measure(await scenePlate(folder, kind, seed, key));
  process.stdout.write(all.toString());
}

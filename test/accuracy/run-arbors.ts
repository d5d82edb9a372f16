/**
 * Pinions on the arbors of wheels against their truth: `npx tsx test/accuracy/run-arbors.ts FOLDER/truth`, of pictures made by
 * `test/drawn/arbors.py` or `samples/render/`; or `... --seeds FIRST LAST` of the kind `pinion-on-wheel` of `test/scenes`.
 */
import { readdir, readFile } from "node:fs/promises";
import { join } from "node:path";
import { findAndMeasureParts, type Part } from "../../src/parts/index.js";
import { networksForPhoto } from "../../src/pipeline/index.js";
import { readPhoto, type Photo } from "../../src/photo/index.js";
import { standardUncertainty } from "../../src/quantity/index.js";
import { solveView } from "../../src/view/index.js";
import { photoOfRendered, renderScene, sceneOfKind, wheelOutline, type WheelPart } from "../scenes/index.js";

interface KnownPinion {
  readonly wheelPx: readonly [number, number];
  readonly leaves: number;
  readonly kind: string;
  readonly tipDiameterMm?: number;
}

const sureFrom = 0.95;
const tally = new Map<string, number>();
const sizes = { within: 0, all: 0 };

async function judge(name: string, photo: Photo, known: readonly KnownPinion[]): Promise<void> {
  const { parts } = await findAndMeasureParts(photo, await solveView(photo), networksForPhoto().ask);
  const pinions = parts.filter(({ onArborOf }) => onArborOf !== undefined);
  const wheelOf = (pinion: Part): Part => parts.find(({ id }) => id === pinion.onArborOf)!;
  const isAt = ({ centrePx: [u, v] }: Part, { wheelPx }: KnownPinion): boolean =>
    Math.hypot(u - wheelPx[0], v - wheelPx[1]) < 60;
  for (const truth of known) {
    const wheel = parts.find((part) => part.onArborOf === undefined && isAt(part, truth));
    const pinion = pinions.find((part) => isAt(wheelOf(part), truth));
    const unread = wheel?.findings.some(({ code }) => code === "pinion-unread") ?? false;
    const isLantern = pinion?.findings.some(({ text }) => text.includes("a lantern")) ?? false;
    const mistaken =
      pinion !== undefined && isLantern !== truth.kind.startsWith("lantern") ? ", kind wrong" : "";
    const { count, probability } = pinion?.teeth ?? { count: 0, probability: 0 };
    const verdict =
      wheel === undefined
        ? "wheel not found"
        : pinion === undefined
          ? unread
            ? "seen, not counted"
            : "not found"
          : `${count === truth.leaves ? "right" : "wrong"} ${probability >= sureFrom ? "and sure" : "not sure"}${mistaken}`;
    tally.set(`${truth.kind}: ${verdict}`, (tally.get(`${truth.kind}: ${verdict}`) ?? 0) + 1);
    const tip = pinion?.tipDiameterMm;
    const off = tip && truth.tipDiameterMm !== undefined ? tip.value - truth.tipDiameterMm : undefined;
    if (tip && off !== undefined && count === truth.leaves) {
      sizes.all++;
      if (Math.abs(off) <= 2 * standardUncertainty(tip)) sizes.within++;
    }
    const size =
      tip && off !== undefined
        ? `, tip off ${off.toFixed(2)} (u ${standardUncertainty(tip).toFixed(2)})`
        : "";
    console.log(
      `${name}: ${truth.leaves} ${truth.kind}: ${verdict}${pinion ? ` ${count} (${probability.toFixed(2)})${size}` : ""}`,
    );
  }
  const extra = pinions.filter((pinion) => !known.some((truth) => isAt(wheelOf(pinion), truth)));
  for (const pinion of extra) {
    tally.set("false", (tally.get("false") ?? 0) + 1);
    console.log(`${name}: false ${pinion.teeth?.count} (${pinion.teeth?.probability.toFixed(2)})`);
  }
}

async function ofTruth(folder: string): Promise<void> {
  for (const file of (await readdir(folder)).filter((f) => f.endsWith(".json")).sort()) {
    const truth = JSON.parse(await readFile(join(folder, file), "utf8")) as {
      photo: string;
      parts: {
        centre_px: [number, number];
        arbor?: {
          pinion?: { leaves: number; kind: string; tip_diameter_mm?: number; from_face_mm?: number };
        };
      }[];
    };
    const photo = await readPhoto(join(folder, "..", "photos", truth.photo));
    if (!photo.ok) throw new Error(photo.problem.text);
    const known = truth.parts.flatMap(({ centre_px, arbor }): KnownPinion[] => {
      const pinion = arbor?.pinion;
      if (pinion === undefined) return [];
      const below = (pinion.from_face_mm ?? 0) < 0 ? ", below its wheel" : "";
      const tip = pinion.tip_diameter_mm;
      return [
        {
          wheelPx: centre_px,
          leaves: pinion.leaves,
          kind: `${pinion.kind}${below}`,
          ...(tip === undefined ? {} : { tipDiameterMm: tip }),
        },
      ];
    });
    await judge(file, photo.value, known);
  }
}

async function ofSeeds(first: number, last: number): Promise<void> {
  for (let seed = first; seed <= last; seed++) {
    const scene = sceneOfKind("pinion-on-wheel", seed, "5mp");
    const rendered = renderScene(scene, seed);
    const photo = await photoOfRendered(rendered, scene, `pinion-on-wheel-${seed}.jpg`);
    const { pinion } = scene.parts[0] as WheelPart;
    const { leaves, moduleMm } = pinion!;
    const { tipDiameterMm } = wheelOutline({ toothCount: leaves, moduleMm, form: "pinion" });
    await judge(`seed ${seed}`, photo, [
      { wheelPx: rendered.truth.wheels[0]!.centrePx, leaves, kind: "cut", tipDiameterMm },
    ]);
  }
}

const [first, ...rest] = process.argv.slice(2);
if (first === "--seeds") await ofSeeds(Number(rest[0]), Number(rest[1]));
else await ofTruth(first!);
for (const [what, n] of [...tally].sort()) console.log(`${n}  ${what}`);
console.log(`tip diameters within 2 u: ${sizes.within} of ${sizes.all}`);

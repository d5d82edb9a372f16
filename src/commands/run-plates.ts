import { UsageError } from "../problem/index.js";
import type { PartRecord } from "../record/index.js";
import {
  arborDistance,
  depthFromPlates,
  holesOfPlate,
  joinPlateViews,
  matchPlates,
  meanDistance,
  type ArborDistance,
  type PlateHole,
} from "../trains/index.js";
import type { CommandIo } from "./command-io.js";
import { jsonText } from "./json-text.js";
import { measuredParts } from "./measured-parts.js";
import { platesText } from "./plates-text.js";
import { snakeKeys } from "./snake-keys.js";
import { terminalText } from "./terminal-text.js";

export interface DepthWish {
  readonly from: string;
  readonly to: string;
  readonly wheelTeeth: number;
  readonly leaves: number;
  readonly moduleMm: number;
  /** Standard uncertainty; default 1 %. */
  readonly uModuleMm?: number;
}

export interface PlatesOptions {
  readonly first?: string;
  readonly second?: string;
  readonly depth?: readonly DepthWish[];
  readonly json?: boolean;
}

/** One plate, put together from all photographs that show its tag. */
interface Plate {
  readonly name: string;
  readonly holes: readonly PlateHole[];
  readonly uScale: number;
  readonly photographs: number;
  readonly isCutOff: boolean;
}

/** What the plates say of the movement; lengths in mm. The document of `--json`. */
export interface PlatesResult {
  readonly plates: readonly { name: string; holes: number; photographs: number; isCutOff: boolean }[];
  readonly match?: {
    readonly matched: boolean;
    readonly reason?: string;
    readonly rmsMm?: number;
    /** Arbors: where the second plate holds them against the first. */
    readonly arbors?: readonly { first: string; second: string; offMm: number; uMm: number }[];
    readonly onlyFirst?: readonly string[];
    readonly onlySecond?: readonly string[];
  };
  readonly distances: readonly (ArborDistance & { from: string; to: string; bothPlates: boolean })[];
  readonly depths: readonly { from: string; to: string; verdict: string; words: string }[];
}

/**
 * Lays plates over each other. Exit code 3 if they do not match, or a depth cannot be told.
 *
 * @throws UsageError if there is no plate, or none with a tag that was asked for.
 */
export async function runPlates(file: string, options: PlatesOptions, io: CommandIo): Promise<void> {
  const all = platesFrom(await measuredParts(file));
  if (all.length === 0)
    throw new UsageError(
      `${terminalText(file)}: no plate in it; photograph a plate on the mat and measure it first`,
    );
  const first = named(all, options.first) ?? all[0]!;
  const second = named(all, options.second) ?? all.find((p) => p !== first);
  const result = compare(first, second, options.depth ?? []);
  io.stdout.write(options.json ? jsonText(snakeKeys(result)) : platesText(result));
  const isTold = result.match?.matched !== false && result.depths.every((d) => d.verdict !== "cannot tell");
  io.setExitCode(isTold ? 0 : 3);
}

function named(plates: readonly Plate[], name: string | undefined): Plate | undefined {
  if (name === undefined) return undefined;
  const found = plates.find((p) => p.name === name);
  if (found) return found;
  const known = plates.map((p) => terminalText(p.name)).join(", ");
  throw new UsageError(`${terminalText(name)}: expected the tag of a plate: ${known}`);
}

function platesFrom(parts: readonly PartRecord[]): Plate[] {
  const byName = new Map<string, PartRecord[]>();
  let untagged = 0;
  for (const part of parts) {
    if (part.kind !== "plate") continue;
    // Without a tag nobody says that two photographs show the same plate.
    const name = part.label ?? `plate ${++untagged}`;
    byName.set(name, [...(byName.get(name) ?? []), part]);
  }
  return [...byName].map(([name, views]) => joined(name, views)).sort((a, b) => (a.name < b.name ? -1 : 1));
}

function joined(name: string, views: readonly PartRecord[]): Plate {
  let holes = holesOfPlate(views[0]!);
  for (const view of views.slice(1)) {
    const more = joinPlateViews(holes, holesOfPlate(view));
    if ("problem" in more)
      throw new UsageError(
        `photographs of ${terminalText(name)}: ${more.problem}; let them overlap more, or take the whole plate on the A3 mat`,
      );
    holes = more.holes;
  }
  return {
    name,
    holes,
    uScale: Math.max(...views.map((v) => v.plate?.scale_u ?? 0.002)),
    photographs: views.length,
    isCutOff: views.length === 1 && views[0]!.findings.some((f) => f.code === "plate-cut-off"),
  };
}

/** Arbors of one train stand this near to each other, mm (common practice, no source). */
const farthestMm = 45;

function compare(first: Plate, second: Plate | undefined, wishes: readonly DepthWish[]): PlatesResult {
  const match = second && matchPlates(first.holes, second.holes, { mirrored: true });
  const pairs = match?.matched ? match.holes : [];
  const twin = (id: string): PlateHole | undefined => pairs.find((p) => p.first.id === id)?.second;
  const between = (a: PlateHole, b: PlateHole): ArborDistance & { bothPlates: boolean } => {
    const front = arborDistance(a, b, first.uScale);
    const [c, d] = [twin(a.id), twin(b.id)];
    if (second === undefined || c === undefined || d === undefined) return { ...front, bothPlates: false };
    return { ...meanDistance(front, arborDistance(c, d, second.uScale)), bothPlates: true };
  };
  const pivots = first.holes.filter((h) => h.kind === undefined || h.kind === "pivot");
  const distances = pivots.flatMap((a, i) =>
    pivots
      .slice(i + 1)
      .map((b) => ({ from: a.id, to: b.id, ...between(a, b) }))
      .filter((d) => d.value < farthestMm),
  );
  const hole = (id: string): PlateHole => {
    const found = first.holes.find((h) => h.id === id);
    if (found) return found;
    throw new UsageError(`--depth: ${terminalText(first.name)} has no hole ${terminalText(id)}`);
  };
  return {
    plates: [first, ...(second ? [second] : [])].map(({ name, holes, photographs, isCutOff }) => ({
      name,
      holes: holes.length,
      photographs,
      isCutOff,
    })),
    ...(match && {
      match: match.matched
        ? {
            matched: true,
            rmsMm: match.rmsMm,
            arbors: pairs
              .filter(({ first: a, second: b }) => a.kind === "pivot" || b.kind === "pivot")
              .map(({ first: a, second: b, offMm, uOffMm }) => ({
                first: a.id,
                second: b.id,
                offMm: Math.hypot(...offMm),
                uMm: uOffMm,
              })),
            onlyFirst: match.onlyFirst.map((h) => h.id),
            onlySecond: match.onlySecond.map((h) => h.id),
          }
        : { matched: false, reason: match.reason },
    }),
    distances: distances.sort((a, b) => a.value - b.value),
    depths: wishes.map(({ from, to, wheelTeeth, leaves, moduleMm, uModuleMm }) => {
      const { verdict, words } = depthFromPlates(between(hole(from), hole(to)), wheelTeeth, leaves, {
        value: moduleMm,
        ...(uModuleMm === undefined ? {} : { u: uModuleMm }),
      });
      return { from, to, verdict, words };
    }),
  };
}

import type { PartRecord } from "../../record/index.js";
import { numberText, quantityText } from "../rounded.js";
import type { Block, TableBlock, Words } from "./content.js";

type HoleRecord = NonNullable<PartRecord["holes"]>[number];

/** What a plate has besides its size: its holes, and how far apart its arbors stand. Nothing for other parts. */
export function plateBlocks(part: PartRecord): readonly Block[] {
  if (part.kind !== "plate" || part.holes === undefined || part.holes.length === 0) return [];
  const distances = distanceTable(part);
  return [
    holeTable(part.holes),
    ...(distances === undefined ? [] : [distances]),
    {
      kind: "paragraph",
      quiet: true,
      words:
        "What a hole is for is guessed from size, place and company: two pivot holes of one size look like screw holes. " +
        "Wear is the greatest less the smallest diameter; its direction is counter-clockwise from the right edge of the mat.",
    },
  ];
}

function holeTable(holes: readonly HoleRecord[]): TableBlock {
  return {
    kind: "table",
    caption: "Holes, from the top of the mat downwards; ± holds the truth in 95 of 100 cases",
    columns: [
      { head: "Hole" },
      { head: "For" },
      { head: "x, y, mm", align: "right" },
      { head: "Diameter, mm", align: "right" },
      { head: "Oval by, mm", align: "right" },
      { head: "Longest at", align: "right" },
    ],
    small: true,
    rows: holes.map((h, i): Words[] => [
      [{ said: h.id ?? `H${i + 1}` }],
      usedFor(h),
      `${numberText(h.centre_mm[0], 2)}, ${numberText(h.centre_mm[1], 2)}`,
      h.diameter_mm ? quantityText(h.diameter_mm, "") : "cannot tell",
      h.ovality_mm ? quantityText(h.ovality_mm, "") : "cannot tell",
      h.ovality_angle_deg ? `${numberText(h.ovality_angle_deg.value, 0)}°` : "round as far as seen",
    ]),
  };
}

function usedFor({ kind, bushed, bush_diameter_mm: bush }: HoleRecord): string {
  const ring = bush ? `bush of ${quantityText(bush)}` : bushed ? "bushed" : undefined;
  return [kind, ring].filter((words) => words !== undefined).join(", ");
}

/** Trains turn between neighbours: each pivot hole with the two nearest. */
const neighbours = 2;

function distanceTable(part: PartRecord): TableBlock | undefined {
  const pivots = (part.holes ?? []).filter((h) => h.kind === "pivot");
  if (pivots.length < 2) return undefined;
  const apart = (a: HoleRecord, b: HoleRecord): number =>
    Math.hypot(a.centre_mm[0] - b.centre_mm[0], a.centre_mm[1] - b.centre_mm[1]);
  const pairs = new Map<string, readonly [HoleRecord, HoleRecord]>();
  for (const a of pivots)
    for (const b of pivots
      .filter((o) => o !== a)
      .sort((p, q) => apart(a, p) - apart(a, q))
      .slice(0, neighbours)) {
      const [first, second] = pivots.indexOf(a) < pivots.indexOf(b) ? [a, b] : [b, a];
      pairs.set(`${first.id ?? ""} ${second.id ?? ""}`, [first, second]);
    }
  const scale = part.plate?.scale_u ?? 0;
  return {
    kind: "table",
    caption: "Centre distances of neighbouring pivot holes",
    columns: [{ head: "From" }, { head: "To" }, { head: "Distance, mm", align: "right" }],
    small: true,
    rows: [...pairs.values()].map(([a, b]): Words[] => {
      const value = apart(a, b);
      const u = Math.hypot(a.centre_u_mm ?? 0.05, b.centre_u_mm ?? 0.05, scale * value);
      return [[{ said: a.id ?? "" }], [{ said: b.id ?? "" }], quantityText({ value, u }, "")];
    }),
  };
}

import type { PartRecord } from "../../record/index.js";
import { OverlayMarks } from "../overlay/overlay.js";
import type { Box } from "../overlay/place-boxes.js";
import { partEmphasis } from "../pictures.js";
import { numberText, quantityText, roundQuantity } from "../rounded.js";
import { runsText, teethIn } from "../part-words.js";
import type { Block, FigureBlock, Words } from "./content.js";
import { groupName, partPictureKey, stageOf, type PartGroup, type Sighting } from "./group-parts.js";
import { quantitiesOf } from "./quantities.js";

/** The same part before and after work was done. */
export interface BeforeAfter {
  readonly before: Sighting;
  readonly after: Sighting;
}

/** None unless the part was photographed both before and after; of several the most telling is taken. */
export function beforeAndAfter(group: PartGroup): BeforeAfter | undefined {
  const sightings = [group.best, ...group.others];
  const before = sightings.find((s) => stageOf(s) === "before");
  const after = sightings.find((s) => stageOf(s) === "after");
  return before && after ? { before, after } : undefined;
}

/** Both side by side, and what changed. */
export function beforeAfterBlocks(
  group: PartGroup,
  cropOf: (sighting: Sighting) => Box | undefined,
): Block[] {
  const both = beforeAndAfter(group);
  if (!both) return [];
  const { before, after } = both;
  const left = figure(group, before, "before", cropOf(before));
  const right = figure(group, after, "after", cropOf(after));
  return [
    { kind: "heading", title: "Before and after" },
    ...(left && right ? [{ kind: "pair" as const, left: [left], right: [right] }] : []),
    {
      kind: "table",
      caption: `${groupName(group)}: change from before to after (k = 2); † not above its uncertainty`,
      columns: [
        { head: "Quantity", width: 0.28 },
        { head: "Before", align: "right", width: 0.24 },
        { head: "After", align: "right", width: 0.24 },
        { head: "Change", align: "right", width: 0.24 },
      ],
      rows: changes(before.part, after.part),
    },
  ];
}

function figure(
  group: PartGroup,
  sighting: Sighting,
  word: string,
  box: Box | undefined,
): FigureBlock | undefined {
  if (!box) return undefined;
  const { photo, photoIndex, part } = sighting;
  return {
    kind: "figure",
    alt: `${groupName(group)} ${word} the work, photograph ${photoIndex + 1}.`,
    caption: [{ bold: word === "before" ? "Before" : "After" }, `, photograph ${photoIndex + 1}`],
    box,
    drawing: OverlayMarks({
      photo,
      options: { crop: box, only: part.id, cards: false, emphasis: partEmphasis },
    }),
    picture: partPictureKey(sighting),
  };
}

function changes(before: PartRecord, after: PartRecord): Words[][] {
  const counts = (state: "missing" | "bent"): Words[] => {
    const [a, b] = [teethIn(before, state), teethIn(after, state)];
    const text = (n: number[]): string => (n.length === 0 ? "none" : runsText(n));
    const change = b.length - a.length;
    return [
      state === "missing" ? "Missing teeth" : "Bent teeth",
      text(a),
      text(b),
      change === 0 ? "none" : `${change > 0 ? "+" : "\u2212"}${Math.abs(change)}`,
    ];
  };
  const later = new Map(quantitiesOf(after).map((named) => [named.key, named]));
  const lengths = quantitiesOf(before).flatMap(({ key, name, unit, q }): Words[][] => {
    const other = later.get(key)?.q;
    if (!other || unit !== "mm" || key === "face_height_mm") return [];
    // Taken as independent: two photographs share little but the sheet, so that this errs on the wide side.
    const change = { value: other.value - q.value, u: Math.hypot(q.u, other.u) };
    const { value, expanded } = roundQuantity(change);
    const sign = change.value > 0 ? "+" : "";
    const mark = Math.abs(change.value) > 2 * change.u ? "" : " †";
    return [
      [name, quantityText(q), quantityText(other), `${sign}${value}\u00a0±\u00a0${expanded}\u00a0mm${mark}`],
    ];
  });
  const teeth: Words[] = [
    "Teeth",
    before.teeth ? `${before.teeth.count} (${numberText(before.teeth.probability, 3)})` : "cannot tell",
    after.teeth ? `${after.teeth.count} (${numberText(after.teeth.probability, 3)})` : "cannot tell",
    before.teeth?.count === after.teeth?.count ? "none" : "differs",
  ];
  return [teeth, counts("missing"), counts("bent"), ...lengths];
}

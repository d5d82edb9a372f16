import type { PartRecord, ProblemRecord } from "../../record/index.js";
import type { Box } from "../overlay/place-boxes.js";
import { OverlayMarks } from "../overlay/overlay.js";
import { rimPlot } from "../plots/rim-plot.js";
import { runoutPlot } from "../plots/runout-plot.js";
import { partEmphasis } from "../pictures.js";
import { isNotched, partName, runsText, sureProbability, teethIn } from "../part-words.js";
import { numberText, quantityText, roundQuantity } from "../rounded.js";
import { shownText } from "../shown-text.js";
import { plateBlocks } from "./plate-section.js";
import { fittingFacts } from "./fitting-facts.js";
import { beforeAfterBlocks } from "./before-after.js";
import { adviceForLengths, contributionsText } from "./budget-words.js";
import type { Block, Fact, FigureBlock, TableBlock, Words } from "./content.js";
import { groupName, groupWords, partPictureKey, type PartGroup, type Sighting } from "./group-parts.js";
import { isBelowUncertainty, tellingQuantitiesOf, type NamedQuantity } from "./quantities.js";
import { findingItem, findingsOf } from "./urgency.js";

export interface PartSectionOptions {
  /** Inches beside millimetres. */
  readonly inches: boolean;
  /** Region of the photograph that the part's picture shows; absent: no picture. */
  readonly cropOf: (sighting: Sighting) => Box | undefined;
}

/** Everything about one part. */
export function partBlock(group: PartGroup, options: PartSectionOptions): Block {
  const { best } = group;
  const { part } = best;
  const findings = findingsOf(group);
  const problems = problemsOf(group);
  const figure = partFigure(group, options);
  const quantities = tellingQuantitiesOf(part);
  const advice = adviceForLengths(part, best.photo);
  const right: Block[] = [
    ...(findings.length > 0 ? [{ kind: "findings" as const, items: findings.map(findingItem) }] : []),
    { kind: "facts", rows: partFacts(best) },
  ];
  const plots = plotFigures(part, group);
  return {
    kind: "part",
    id: group.id,
    title: [{ bold: groupName(group) }, "  ", groupWords(group)],
    blocks: [
      ...(figure ? [{ kind: "pair" as const, left: [figure], right }] : right),
      ...(quantities.length > 0 ? [measurementTable(group, quantities, options.inches)] : []),
      ...(advice === undefined ? [] : [{ kind: "paragraph" as const, quiet: true, words: advice }]),
      ...plateBlocks(part),
      ...plots,
      ...problems.map((p): Block => ({
        kind: "paragraph",
        quiet: true,
        words: [
          "Could not be told: ",
          { said: shownText(p.text, { max: 400 }) },
          " What to do: ",
          { said: p.advice },
        ],
      })),
      ...beforeAfterBlocks(group, options.cropOf),
      ...(group.others.length > 0 ? [othersTable(group)] : []),
    ],
  };
}

const problemsOf = (group: PartGroup): ProblemRecord[] => [...(group.best.part.problems ?? [])];

function partFigure(group: PartGroup, { cropOf }: PartSectionOptions): FigureBlock | undefined {
  const { best } = group;
  const box = cropOf(best);
  if (!box) return undefined;
  const { photo, part, photoIndex } = best;
  return {
    kind: "figure",
    alt: `${groupName(group)}: ${groupWords(group)}. Photograph with what was measured drawn over it.`,
    caption: [
      { bold: groupName(group) },
      `, photograph ${photoIndex + 1}, part ${shownText(part.id, { max: 24 })}. ${markWords(part)}`,
    ],
    box,
    drawing: OverlayMarks({
      photo,
      options: { crop: box, only: part.id, cards: false, emphasis: partEmphasis },
    }),
    picture: partPictureKey(best),
  };
}

/** What the lines and signs over a picture of the part mean. */
function markWords(part: PartRecord): string {
  if (part.kind === "plate")
    return "The outline as it was found; every hole with its edge and number, an oval one with a line along its longest diameter.";
  const mark = isNotched(part) ? "notch" : part.kind === "pinion" ? "leaf" : "tooth";
  return (
    `Full lines: fitted tip and root circle${part.pitch_diameter_mm ? "; chain line: pitch circle" : ""}. ` +
    `Every ${mark} is ticked; ${mark} 1 has a wedge.` +
    (part.pins ? " Rings: ends of the pins." : "") +
    (part.notches
      ? " Walls and floors of the notches are drawn; a cross stands where one is missing, a bar at one too many."
      : "")
  );
}

const angleText = (deg: number): string => `${numberText(deg, 1)}°`;

/** Counts and places: what carries no uncertainty in millimetres. */
function partFacts({ part }: Sighting): Fact[] {
  const rows: Fact[] = [];
  const { teeth } = part;
  // Notches have a line of their own.
  if (teeth && !isNotched(part)) {
    const probability = teeth.probability > 0.999 ? "above 0.999" : numberText(teeth.probability, 3);
    const others = teeth.alternatives
      .filter((a) => a.count !== teeth.count && a.probability >= 0.0005)
      .slice(0, 3)
      .map((a) => `${a.count} (${numberText(a.probability, 3)})`)
      .join(", ");
    rows.push({
      term: part.kind === "pinion" ? "Leaves" : "Teeth",
      words: [
        { bold: `${teeth.count}` },
        `, probability ${probability}` +
          (teeth.probability < sureProbability ? "; not sure" : "") +
          (others === "" ? "" : `; next: ${others}`),
      ],
    });
    const at = (state: "missing" | "bent" | "short" | "unseen"): string =>
      (teeth.places ?? [])
        .filter((p) => p.state === state)
        .slice(0, 8)
        .map((p) => angleText(p.angle_deg))
        .join(", ");
    for (const [state, term] of [
      ["missing", "Missing teeth"],
      ["bent", "Bent teeth"],
      ["short", "Short or broken teeth"],
      ["unseen", "Teeth not seen"],
    ] as const) {
      const numbers = teethIn(part, state);
      if (numbers.length > 0) rows.push({ term, words: `${runsText(numbers)}, at ${at(state)}` });
    }
    const index = indexDeviations(part);
    if (index)
      rows.push({
        term: "Index deviation",
        words:
          `greatest ${signed(index.most)} mm at tooth ${index.mostAt}, least ${signed(index.least)} mm at tooth ` +
          `${index.leastAt}; from tooth to tooth at most ${numberText(index.adjacent, 3)} mm`,
      });
  } else if (!isNotched(part) && part.kind !== "plate") {
    rows.push({ term: "Teeth", words: [{ bold: "cannot tell" }] });
  }
  if (part.crossings) rows.push({ term: "Crossings", words: `${part.crossings.count}` });
  rows.push(...fittingFacts(part));
  if (part.nearest_preferred_module_mm !== undefined && part.module_mm) {
    const nearest = part.nearest_preferred_module_mm;
    const off = 100 * (part.module_mm.value / nearest - 1);
    rows.push({
      term: "Nearest preferred module",
      words: `${nearest} mm; measured is ${numberText(Math.abs(off), 1)} % ${off < 0 ? "below" : "above"}`,
    });
  }
  if (part.addendum_assumption !== undefined)
    rows.push({
      term: "Module assumes",
      words: [{ said: shownText(part.addendum_assumption, { max: 200 }) }],
    });
  const estimates = part.eccentricity_estimates;
  if (estimates) {
    const amount = ([x, y]: readonly [number, number]): string => numberText(Math.hypot(x, y), 3);
    rows.push({
      term: "Eccentricity, two ways",
      words:
        `against the ${estimates.datum.replace("-", " ")}: ${amount(estimates.radial_mm)} mm from the radii, ` +
        `${amount(estimates.tangential_mm)} mm from the spacing; they ${estimates.agree ? "agree" : "do not agree"}`,
    });
  }
  return rows;
}

const signed = (v: number): string => `${v > 0 ? "+" : ""}${numberText(v, 3)}`;

interface IndexDeviations {
  readonly most: number;
  readonly mostAt: number;
  readonly least: number;
  readonly leastAt: number;
  /** Greatest change from one tooth to the next. */
  readonly adjacent: number;
}

export function indexDeviations(part: PartRecord): IndexDeviations | undefined {
  const places = (part.teeth?.places ?? []).filter((p) => p.index_deviation_mm !== undefined);
  if (places.length < 3) return undefined;
  const by = [...places].sort((a, b) => a.number - b.number);
  let [most, least] = [by[0]!, by[0]!];
  let adjacent = 0;
  by.forEach((place, i) => {
    if (place.index_deviation_mm! > most.index_deviation_mm!) most = place;
    if (place.index_deviation_mm! < least.index_deviation_mm!) least = place;
    const next = by[(i + 1) % by.length]!;
    const neighbours =
      next.number - place.number === 1 || (next.number === 1 && place.number === part.teeth!.count);
    if (neighbours)
      adjacent = Math.max(adjacent, Math.abs(next.index_deviation_mm! - place.index_deviation_mm!));
  });
  return {
    most: most.index_deviation_mm!,
    mostAt: most.number,
    least: least.index_deviation_mm!,
    leastAt: least.number,
    adjacent,
  };
}

const perInch = 1 / 25.4;

function valueWords({ q, unit, amount }: NamedQuantity, inches: boolean): Words {
  const rounded = roundQuantity(q);
  const shown =
    unit === "°" ? `${rounded.value}°` : unit === "" ? rounded.value : `${rounded.value}\u00a0${unit}`;
  const inch = inches && unit === "mm" ? `; ${roundQuantity(q, perInch).value}\u00a0in` : "";
  return `${shown}${inch}${amount && isBelowUncertainty(q) ? " †" : ""}`;
}

function expandedWords({ q, unit }: NamedQuantity, inches: boolean): string {
  const { expanded } = roundQuantity(q);
  const inch = inches && unit === "mm" ? `; ±\u00a0${roundQuantity(q, perInch).expanded}\u00a0in` : "";
  return `±\u00a0${expanded}${unit === "°" ? "°" : unit === "" ? "" : `\u00a0${unit}`}${inch}`;
}

const measurementTable = (
  group: PartGroup,
  quantities: readonly NamedQuantity[],
  inches: boolean,
): TableBlock => ({
  kind: "table",
  caption:
    `${groupName(group)}: measured, with expanded uncertainty (k = 2)` +
    (quantities.some(({ q, amount }) => amount && isBelowUncertainty(q))
      ? "; † not above its uncertainty"
      : ""),
  columns: [
    { head: "Quantity", width: 0.29 },
    { head: "Value", align: "right", width: 0.2 },
    { head: "Uncertainty", align: "right", width: 0.16 },
    { head: "Largest sources, share of the variance", width: 0.35 },
  ],
  rows: quantities.map((named) => [
    named.name,
    valueWords(named, inches),
    expandedWords(named, inches),
    contributionsText(named.q),
  ]),
});

function plotFigures(part: PartRecord, group: PartGroup): Block[] {
  const rim = rimPlot(part);
  const runout = runoutPlot(part);
  const name = groupName(group);
  const blocks: Block[] = [];
  if (rim) {
    const missing = teethIn(part, "missing");
    blocks.push({
      kind: "figure",
      alt:
        `Rim of ${name} unrolled: radius against angle, ${part.teeth?.count ?? "an unknown number of"} teeth` +
        (missing.length > 0 ? `, missing ${runsText(missing)}` : "") +
        ".",
      caption: [
        { bold: "Rim unrolled. " },
        "Outline as seen on the plane of the face; hatched: not seen; circle with cross: tooth missing.",
      ],
      box: { x: 0, y: 0, width: rim.width, height: rim.height },
      drawing: rim.drawing,
    });
  }
  if (runout) {
    const runoutText = part.radial_runout_mm ? ` Radial run-out ${quantityText(part.radial_runout_mm)}.` : "";
    blocks.push({
      kind: "figure",
      alt: `Run-out of ${name}: deviation of every tip from the mean tip circle, magnified ${runout.magnification} times.${runoutText}`,
      caption: [
        { bold: "Run-out of the tips. " },
        `Deviations from the mean tip circle are drawn ${runout.magnification} times as large as the circle. ` +
          "A smooth shift to one side is eccentricity; a single dent is a damaged tooth.",
      ],
      box: { x: 0, y: 0, width: runout.width, height: runout.height },
      drawing: runout.drawing,
      width: 0.5,
    });
  }
  return blocks;
}

const othersTable = (group: PartGroup): TableBlock => ({
  kind: "table",
  caption: `${groupName(group)} in its other photographs`,
  small: true,
  columns: [
    { head: "Photograph" },
    { head: "Part" },
    { head: "Count" },
    { head: "Tip diameter", align: "right" },
    { head: "Module", align: "right" },
    { head: "Eccentricity", align: "right" },
  ],
  rows: group.others.map(({ part, photoIndex }) => [
    `${photoIndex + 1}`,
    [{ said: partName(part) }],
    part.teeth ? `${part.teeth.count} (${numberText(part.teeth.probability, 3)})` : "cannot tell",
    part.tip_diameter_mm ? quantityText(part.tip_diameter_mm) : "",
    part.module_mm ? quantityText(part.module_mm) : "",
    part.eccentricity_mm ? quantityText(part.eccentricity_mm) : "",
  ]),
});

import { basename } from "node:path";
import Table from "cli-table3";
import { roundToUncertainty } from "../quantity/index.js";
import type {
  MeasurementDocument,
  PartRecord,
  PhotoRecord,
  ProblemRecord,
  QuantityRecord,
} from "../record/index.js";
import { setLines, setName } from "./set-lines.js";
import { terminalText } from "./terminal-text.js";

/** From this probability on a count is stated without its rivals. */
const sureProbability = 0.95;
/** Coverage factor of every ± in the table. */
const k = 2;
const none = "–";
const heads = ["Part", "Label", "Teeth", "Tip Ø mm", "Module mm", "Crossings", "Eccentricity mm", "Findings"];

/** The document for people: a table of the parts, then findings, then problems with what to do about them. */
export function measurementTable(document: MeasurementDocument): string {
  const nameOf = photoNames(document.photos.map(({ file }) => file));
  const table = new Table({ head: heads, style: { head: [], border: [], compact: true } });
  for (const photo of document.photos) {
    table.push([{ colSpan: heads.length, content: `${nameOf(photo.file)}: ${scaleWords(photo)}` }]);
    for (const part of photo.parts) table.push(partRow(part));
  }
  const findings = document.photos.flatMap((photo) =>
    photo.parts.flatMap((part) =>
      part.findings.map(
        ({ severity, text }) =>
          `  ${nameOf(photo.file)} ${terminalText(part.id)}: ${severity}: ${terminalText(text)}`,
      ),
    ),
  );
  const problems = new GroupedProblems();
  for (const photo of document.photos) {
    const name = nameOf(photo.file);
    for (const problem of photo.problems) problems.add(name, problem);
    for (const part of photo.parts)
      for (const problem of part.problems ?? []) problems.add(`${name} ${terminalText(part.id)}`, problem);
  }
  for (const set of document.sets)
    for (const problem of set.problems ?? []) problems.add(setName(set), problem);
  return [
    table.toString(),
    ...setLines(document.sets),
    `± is the expanded uncertainty (k = ${k}, about 95 %).`,
    ...(findings.length > 0 ? ["", "Findings", ...findings] : []),
    ...problems.lines(),
    "",
  ].join("\n");
}

/** The same problem of many photographs is told once, with the places it was met at. */
class GroupedProblems {
  private readonly placesOf = new Map<string, Set<string>>();

  add(place: string, { text, advice }: ProblemRecord): void {
    const words = `${terminalText(text)}\n    → ${terminalText(advice)}`;
    const places = this.placesOf.get(words) ?? new Set();
    this.placesOf.set(words, places.add(place));
  }

  lines(): string[] {
    if (this.placesOf.size === 0) return [];
    return [
      "",
      "Problems",
      ...[...this.placesOf].map(([words, places]) => `  ${[...places].join(", ")}: ${words}`),
    ];
  }
}

function partRow(part: PartRecord): string[] {
  return [
    terminalText(part.id),
    part.label === undefined ? none : terminalText(part.label),
    teethWords(part),
    quantityWords(part.tip_diameter_mm),
    quantityWords(part.module_mm),
    part.crossings ? String(part.crossings.count) : none,
    eccentricityWords(part),
    worstSeverity(part),
  ];
}

/** "72", "not sure: 71 or 72", "cannot tell"; missing and bent teeth beside it. */
export function teethWords({ kind, teeth }: PartRecord): string {
  if (!teeth) return kind === "plate" ? none : "cannot tell";
  const rivals = teeth.alternatives.filter(({ count }) => count !== teeth.count).slice(0, 2);
  const counts = [teeth.count, ...rivals.map(({ count }) => count)];
  const count =
    teeth.probability >= sureProbability
      ? String(teeth.count)
      : counts.length > 1
        ? `not sure: ${counts.slice(0, -1).join(", ")} or ${counts.at(-1)}`
        : `not sure: ${teeth.count}`;
  const spoilt = [
    ...(teeth.missing.length > 0 ? [`${teeth.missing.length} missing`] : []),
    ...(teeth.bent.length > 0 ? [`${teeth.bent.length} bent`] : []),
  ];
  return spoilt.length > 0 ? `${count} (${spoilt.join(", ")})` : count;
}

function quantityWords(q: QuantityRecord | undefined): string {
  if (!q) return none;
  const { value, u } = roundToUncertainty(q.value, k * q.u);
  return `${value} ± ${u}`;
}

/** Without a scale the eccentricity is still known as a share of the tip diameter. */
function eccentricityWords(part: PartRecord): string {
  if (part.eccentricity_mm) return quantityWords(part.eccentricity_mm);
  const share = part.relative_eccentricity;
  return share ? `${quantityWords({ value: 100 * share.value, u: 100 * share.u })} % of Ø` : none;
}

function worstSeverity({ findings }: PartRecord): string {
  for (const severity of ["fault", "watch", "note"] as const)
    if (findings.some((finding) => finding.severity === severity)) return severity;
  return none;
}

function scaleWords({ scale, view, parts, sha256 }: PhotoRecord): string {
  if (parts.length === 0) return sha256 === undefined ? "not read" : "nothing measured";
  const pxPerMm = scale.px_per_mm === undefined ? "" : `, ${scale.px_per_mm.toPrecision(3)} px/mm`;
  switch (scale.source) {
    case "mat":
      return `on the mat${pxPerMm}${view?.print_scale_measured === false ? ", check bars not measured" : ""}`;
    case "given":
      return `scale given${pxPerMm}`;
    case "none":
      return "no scale, so no lengths";
  }
}

/** Names short enough for a table and still apart: the last part of the path, or all of it where two share that. */
function photoNames(files: readonly string[]): (file: string) => string {
  const pathsOf = new Map<string, Set<string>>();
  for (const file of files) {
    const name = basename(file);
    pathsOf.set(name, (pathsOf.get(name) ?? new Set()).add(file));
  }
  return (file) => terminalText((pathsOf.get(basename(file))?.size ?? 0) > 1 ? file : basename(file));
}

import type { SurveyDocument } from "../record/index.js";
import { quantitiesOf } from "./content/quantities.js";
import { shownText } from "./shown-text.js";

const columns = [
  "photograph",
  "file",
  "sha256",
  "part",
  "label",
  "kind",
  "quantity",
  "value",
  "unit",
  "standard_uncertainty",
  "expanded_uncertainty_k2",
  "probability",
];

/**
 * Characters that make a spreadsheet take a cell for a formula, also behind white space and in their full-width
 * forms.
 */
const startsFormula = /^[\s\u00A0\uFEFF"']*[=+\-@|%\uFF1D\uFF0B\uFF0D\uFF20\u2212]/;

/** Text for a cell: an apostrophe in front of whatever could start a formula. */
export function csvText(text: string): string {
  const shown = shownText(text, { max: 1000 });
  const safe = startsFormula.test(shown) ? `'${shown}` : shown;
  return /[",;\r\n\t']/.test(safe) || safe !== safe.trim() ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/** Plain decimal digits: no exponent that a spreadsheet of another language could misread. */
const csvNumber = (value: number): string =>
  Number.isInteger(value) ? String(value) : value.toFixed(9).replace(/0+$/, "").replace(/\.$/, "");

/**
 * Every measured value in a line of its own (UTF-8 with byte-order mark, RFC 4180): the same numbers as in the
 * JSON document, not rounded.
 */
export function surveyCsv(survey: SurveyDocument): string {
  const lines: string[] = [columns.join(",")];
  survey.measurement.photos.forEach((photo, i) => {
    for (const part of photo.parts) {
      const head = [
        String(i + 1),
        csvText(photo.file),
        photo.sha256 ?? "",
        csvText(part.id),
        csvText(part.label ?? ""),
        part.kind,
      ];
      const add = (quantity: string, value: number, unit: string, u?: number, probability?: number): void => {
        const uncertainty = u === undefined ? ["", ""] : [csvNumber(u), csvNumber(2 * u)];
        lines.push(
          [
            ...head,
            csvText(quantity),
            csvNumber(value),
            unit,
            ...uncertainty,
            probability === undefined ? "" : csvNumber(probability),
          ].join(","),
        );
      };
      if (part.teeth) {
        // A count that a person stated was not measured, and has no probability.
        if (part.findings.some(({ code }) => code === "teeth-by-hand"))
          add("tooth count stated by hand", part.teeth.count, "");
        else add("tooth count", part.teeth.count, "", undefined, part.teeth.probability);
        add("missing teeth", part.teeth.missing.length, "");
        add("bent teeth", part.teeth.bent.length, "");
      }
      if (part.crossings) add("crossings", part.crossings.count, "");
      if (part.pins) add("lifting pins", part.pins.count, "");
      if (part.notches) {
        add("notches", part.notches.notches.length, "", undefined, part.notches.probability);
        if (part.kind !== "locking-cam")
          add("blows per turn", part.notches.blows_per_turn, "", undefined, part.notches.probability);
      }
      for (const { name, unit, q } of quantitiesOf(part))
        add(name.toLowerCase(), q.value, unit === "°" ? "deg" : unit, q.u);
      (part.holes ?? []).forEach((hole, k) => {
        const name = `hole ${hole.id ?? k + 1}${hole.kind === undefined ? "" : ` (${hole.kind})`}`;
        add(`${name} x`, hole.centre_mm[0], "mm", hole.centre_u_mm);
        add(`${name} y`, hole.centre_mm[1], "mm", hole.centre_u_mm);
        if (hole.diameter_mm) add(`${name} diameter`, hole.diameter_mm.value, "mm", hole.diameter_mm.u);
        if (hole.ovality_mm) add(`${name} ovality`, hole.ovality_mm.value, "mm", hole.ovality_mm.u);
        if (hole.ovality_angle_deg)
          add(`${name} direction of ovality`, hole.ovality_angle_deg.value, "deg", hole.ovality_angle_deg.u);
        if (hole.bush_diameter_mm)
          add(`${name} bush diameter`, hole.bush_diameter_mm.value, "mm", hole.bush_diameter_mm.u);
      });
    }
  });
  return `\uFEFF${lines.join("\r\n")}\r\n`;
}

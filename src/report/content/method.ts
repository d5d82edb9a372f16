import type { StatementRecord, SurveyDocument } from "../../record/index.js";
import { numberText } from "../rounded.js";
import type { Block, Section } from "./content.js";

/** How it was measured, and what ± means, in plain words. */
export function methodSection(survey: SurveyDocument): Section {
  const { photos } = survey.measurement;
  const onMat = photos.filter((p) => p.scale.source === "mat");
  const given = photos.filter((p) => p.scale.source === "given").length;
  const none = photos.filter((p) => p.scale.source === "none").length;
  const blocks: Block[] = [
    {
      kind: "paragraph",
      words:
        "Each part was photographed from above and measured in the photograph by a computer program. The outline " +
        "of the part was found to a fraction of a pixel, carried through the optics of the camera onto the plane " +
        "of the part's own face, and circles and tooth spacings were fitted there in millimetres. Teeth were " +
        "counted in two independent ways; where these disagree the count is marked as not sure.",
    },
  ];
  if (onMat.length > 0) blocks.push(matScale(onMat, survey.statement));
  if (given > 0)
    blocks.push({
      kind: "paragraph",
      words:
        `In ${given} of ${photos.length} photographs the scale was given by hand. Such a scale knows nothing of the ` +
        "camera's tilt and of heights, and carries a larger uncertainty.",
    });
  if (none > 0)
    blocks.push({
      kind: "paragraph",
      words:
        `In ${none} of ${photos.length} photographs there was no scale. Counts and proportions were taken from them, ` +
        "but no lengths.",
    });
  blocks.push(
    { kind: "heading", title: "What the ± says" },
    {
      kind: "paragraph",
      words:
        "Every length, angle and ratio stands with its expanded uncertainty: the standard uncertainty times the " +
        "coverage factor k = 2. About 95 of 100 such intervals hold the true value. It is put together from its " +
        "sources as the Guide to the expression of uncertainty in measurement (JCGM 100:2008) describes. The tables " +
        "name the largest sources by their share of the variance: print (the printed size of the sheet, across and " +
        "along), camera position, height of face above the sheet, edges (how sharply they show in the picture), form " +
        "of the part itself, and fineness of the picture.",
    },
    {
      kind: "paragraph",
      words:
        "An amount that is not above its own uncertainty (an eccentricity, an ovality) may be nothing at all: it " +
        "says only that the true amount is hardly larger than the uncertainty.",
    },
    { kind: "heading", title: "Words" },
    {
      kind: "facts",
      rows: [
        { term: "Tip, root, pitch diameter", words: "over the tooth tips; at the bottom of the spaces; where wheel and pinion roll on each other." },
        { term: "Module", words: "pitch diameter divided by the number of teeth, in mm. It is found from tip and root diameter and assumes how high the teeth stand above the pitch circle; the assumption is stated with each part." },
        { term: "Eccentricity", words: "distance of the centre of the tooth circle from the centre that is named (bore or collet)." },
        { term: "Radial run-out", words: "how far the tips move in and out in one turn about that centre. An eccentricity alone gives twice its amount." },
        { term: "Roundness", words: "width of the ring that holds the tips, about the least-squares circle or as the narrowest ring (minimum zone), after ISO 12181-1." },
        { term: "Index deviation", words: "how far a tooth stands from its place on the pitch circle if all were evenly spaced." },
      ],
    },
  ); // prettier-ignore
  return { id: "method", title: "Method, scale and uncertainty", blocks };
}

type Photos = SurveyDocument["measurement"]["photos"];

function matScale(photos: Photos, statement: StatementRecord): Block {
  const measured = photos.filter((p) => p.view?.print_scale_measured).length;
  const scales = photos.flatMap((p) => (p.view ? [p.view.print_scale] : []));
  const percent = (axis: 0 | 1): string => {
    const off = scales.map((s) => 100 * (s[axis] - 1));
    const [least, most] = [numberText(Math.min(...off), 2), numberText(Math.max(...off), 2)];
    return least === most ? `${least} %` : `${least} to ${most} %`;
  };
  const rms = photos.flatMap((p) => (p.view ? [p.view.reprojection_rms_px] : []));
  const worst = rms.length > 0 ? Math.max(...rms) : undefined;
  const readings =
    measured === photos.length
      ? `Its two check bars were measured on paper: the print departs from nominal by ${percent(0)} across and ` +
        `${percent(1)} along the sheet, and this was allowed for.`
      : measured === 0
        ? "Its check bars were not measured, so that the printer's size error is part of every uncertainty."
        : `Its check bars were measured for ${measured} of ${photos.length} photographs.`;
  return {
    kind: "paragraph",
    words: [
      "The scale comes from a printed sheet with coded markers that lies under the parts. From the markers in each " +
        "photograph the program solves where the camera was and how its lens bends straight lines",
      ...(worst === undefined
        ? []
        : [` (markers met within ${numberText(worst, 2)} pixel, root mean square, or better)`]),
      `. ${readings}`,
      ...(statement.scale_measured_with === undefined
        ? measured > 0
          ? [" With what they were measured is not stated."]
          : []
        : [" Measured with: ", { said: statement.scale_measured_with }, "."]),
    ],
  };
}

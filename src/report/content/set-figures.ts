import type { PhotoRecord, SetRecord } from "../../record/index.js";
import { arborRunoutPlot, axialRunoutPlot } from "../plots/arbor-runout-plot.js";
import { centrePathPlot } from "../plots/centre-path-plot.js";
import type { FigureBlock } from "./content.js";

/** Path and run-out, as far as there is something to draw. */
export function setFigures(set: SetRecord, photos: readonly PhotoRecord[], name: string): FigureBlock[] {
  const tipMm = tipDiameterOf(set, photos);
  if (tipMm === undefined) return [];
  const made: FigureBlock[] = [];
  const path = centrePathPlot(set, tipMm / 2);
  if (path)
    made.push({
      kind: "figure",
      alt: `${name}: where the ${set.kind === "turn" ? "tooth circle's centre" : "arbor in the wheel"} stood in each photograph, magnified ${path.magnification} times.`,
      caption: [
        { bold: set.kind === "turn" ? "Path of the centre. " : "Arbor in the wheel. " },
        set.kind === "turn"
          ? "Centre of the tooth circle about the arbor's axis (cross), by photograph; dashed: fitted circle; open dot: left out."
          : "Where the arbor stood in the wheel, by photograph; two dots further apart than the dashed circle is wide have moved.",
      ],
      box: { x: 0, y: 0, width: path.width, height: path.height },
      drawing: path.drawing,
    });
  const runout = arborRunoutPlot(set, tipMm / 2);
  if (runout)
    made.push({
      kind: "figure",
      alt: `${name}: run-out of the tooth circle about the arbor in polar form, magnified ${runout.magnification} times.`,
      caption: [
        { bold: "Run-out about the arbor. " },
        "What a probe at the rim would read over a turn, from the eccentricity alone.",
      ],
      box: { x: 0, y: 0, width: runout.width, height: runout.height },
      drawing: runout.drawing,
    });
  const axial = axialRunoutPlot(set, tipMm / 2);
  if (axial)
    made.push({
      kind: "figure",
      alt: `${name}: rise and fall of the rim about the arbor in polar form, magnified ${axial.magnification} times.`,
      caption: [
        { bold: "Rise and fall of the rim. " },
        "What a probe standing on the face at the tips would read over a turn: outwards is up.",
      ],
      box: { x: 0, y: 0, width: axial.width, height: axial.height },
      drawing: axial.drawing,
    });
  return made;
}

function tipDiameterOf(set: SetRecord, photos: readonly PhotoRecord[]): number | undefined {
  for (const { file, part_id } of set.positions ?? []) {
    const part = photos.find((p) => p.file === file)?.parts.find((p) => p.id === part_id);
    if (part?.tip_diameter_mm) return part.tip_diameter_mm.value;
  }
  return undefined;
}

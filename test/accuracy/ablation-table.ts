import type { PhotoOutcome, WheelOutcome } from "./measure-known-photo.js";
import { markdownTable } from "./markdown-table.js";

/** The same photographs, measured once with the segmentation model and once without it, in the same order. */
export interface Ablation {
  readonly withModel: readonly PhotoOutcome[];
  readonly without: readonly PhotoOutcome[];
}

/** Right and sure count, and a tip diameter within its bar where a bar is set. */
export const succeeded = ({ verdict, errors }: WheelOutcome): boolean =>
  verdict === "right" &&
  errors.every(
    ({ size, error, allowed }) => size !== "tip" || allowed === undefined || Math.abs(error) <= allowed,
  );

/** A row for each kind, and one for all. */
export function ablationTable({ withModel, without }: Ablation): string {
  const kinds = [...new Set(withModel.map(({ photo }) => photo.kind))];
  const cells = (name: string, belongs: (outcome: PhotoOutcome) => boolean): string[] => {
    const wheelsOf = (all: readonly PhotoOutcome[]) => all.filter(belongs).flatMap(({ wheels }) => wheels);
    const [on, off] = [wheelsOf(withModel), wheelsOf(without)];
    const right = (wheels: readonly WheelOutcome[]) =>
      `${wheels.filter(({ verdict }) => verdict === "right").length}`;
    const wrong = (wheels: readonly WheelOutcome[]) =>
      `${wheels.filter(({ verdict }) => verdict === "confidently wrong").length}`;
    const good = (wheels: readonly WheelOutcome[]) => `${wheels.filter(succeeded).length}`;
    return [name, `${on.length}`, right(off), right(on), wrong(off), wrong(on), good(off), good(on)];
  };
  const head = [
    "kind",
    "wheels",
    "right without",
    "right with",
    "wrong without",
    "wrong with",
    "success without",
    "success with",
  ];
  return markdownTable(head, [
    ...kinds.map((kind) => cells(kind, ({ photo }) => photo.kind === kind)),
    cells("**all**", () => true),
  ]);
}

export const ablationText = (ablation: Ablation): string => `
With and without the segmentation model, the same photographs in one run:

${ablationTable(ablation)}

Right: count right and sure. Wrong: count wrong and sure. Success: count right and sure, and the tip diameter within its
bar where one is set.
`;

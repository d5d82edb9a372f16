import type { BudgetEntry, PartRecord, PhotoRecord, QuantityRecord } from "../../record/index.js";
import { coverageFactor, roundQuantity } from "../rounded.js";

/** A contribution in the words of the bench. */
export function sourceWords({ source, input }: BudgetEntry): string {
  switch (source) {
    case "scale":
      if (input?.includes("across")) return "print across";
      if (input?.includes("along")) return "print along";
      return "given scale";
    case "pose":
      return "camera position";
    case "height":
      return "height of face";
    case "edge":
      return "edges";
    case "fit":
      return "form of the part";
    case "resolution":
      return "fineness";
    default:
      return source satisfies never;
  }
}

/** Share in the variance, 0 to 1. */
const shareOf = (entry: BudgetEntry, q: QuantityRecord): number => (q.u > 0 ? (entry.u / q.u) ** 2 : 0);

/** "height of the face above the sheet 52 %, position of the camera 31 %": shares of the variance. */
export function contributionsText(q: QuantityRecord, most = 2): string {
  return (q.budget ?? [])
    .filter((entry) => shareOf(entry, q) >= 0.1)
    .slice(0, most)
    .map((entry) => `${sourceWords(entry)} ${Math.round(100 * shareOf(entry, q))} %`)
    .join(", ");
}

function whatToDo(source: BudgetEntry["source"], photo: PhotoRecord): string {
  switch (source) {
    case "scale":
      if (photo.scale.source === "given")
        return "photograph the part on the printed sheet instead of giving a scale";
      return photo.view?.print_scale_measured
        ? "read both check bars again with calipers, several times, and give the means"
        : "measure the two check bars of the printed sheet, with calipers if there are any, and give both readings";
    case "height":
      return (
        "give the height of the face above the sheet, or pierce the sheet so that the wheel lies flat, " +
        "or photograph it from two camera positions"
      );
    case "pose":
      return "hold the camera straighter above the part, with more of the sheet's markers in view";
    case "edge":
      return "photograph closer, in focus, in even light without glare";
    case "resolution":
      return "photograph closer, so that the part fills more of the picture";
    case "fit":
      return "the part's own form sets this limit; a better photograph will hardly change it";
    default:
      return source satisfies never;
  }
}

/**
 * What to do for a smaller uncertainty of the tip diameter, and what it would bring: all inputs of the largest
 * source taken away.
 */
export function adviceForLengths(part: PartRecord, photo: PhotoRecord): string | undefined {
  const q = part.tip_diameter_mm;
  if (!q?.budget || !(q.u > 0)) return undefined;
  const bySource = new Map<BudgetEntry["source"], number>();
  for (const { source, u } of q.budget) bySource.set(source, (bySource.get(source) ?? 0) + u * u);
  const largest = [...bySource].sort((a, b) => b[1] - a[1])[0];
  if (!largest) return undefined;
  const [source, square] = largest;
  const without = Math.sqrt(Math.max(0, q.u ** 2 - square));
  const what = whatToDo(source, photo);
  if (source === "fit") return `To make the lengths more certain: ${what}.`;
  const now = roundQuantity(q).expanded;
  const then = (coverageFactor * without).toPrecision(2);
  return (
    `To make the lengths more certain: ${what}. Without this contribution the tip diameter would be known to ` +
    `± ${Number(then)} mm instead of ± ${now} mm.`
  );
}

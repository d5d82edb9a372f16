import type { PhotoOutcome } from "./measure-known-photo.js";

/** What went wrong with a photograph, in words for whoever watches; none if nothing did. */
export function remarksOn(outcome: PhotoOutcome): string[] {
  return [
    ...outcome.wheels.flatMap(({ wheel, verdict, countSaid, probability }) =>
      verdict === "right"
        ? []
        : [
            `${wheel.label || "wheel"} ${verdict}: ${countSaid ?? "no count"} (${probability?.toFixed(2) ?? "-"}), true ${wheel.toothCount}, ${wheel.pxPerTooth.toFixed(1)} px, rim ${wheel.rimSeen.toFixed(2)}`,
          ],
    ),
    ...outcome.wheels.flatMap(({ wheel, errors }) =>
      errors
        .filter(({ error, u, allowed }) => Math.abs(error) > Math.max(3 * (u ?? Infinity), allowed ?? 0))
        .map(
          ({ size, error, u }) => `${wheel.label || "wheel"} ${size} ${error.toFixed(3)}, u ${u!.toFixed(3)}`,
        ),
    ),
    ...outcome.falseParts.map(
      ({ kind, teeth, centrePx: [x, y] }) =>
        `false ${kind} of ${teeth?.count ?? "no"} teeth (${teeth?.probability.toFixed(2) ?? "-"}) at ${x.toFixed(0)}, ${y.toFixed(0)}`,
    ),
  ];
}

import type { JSX } from "preact";
import type { PhotoRecord } from "../../record/index.js";
import { partName } from "../part-words.js";
import type { XyPx } from "./frame.js";
import { colours } from "./strokes.js";

export interface ScaleBar {
  readonly lengthMm: number;
  readonly lengthPx: number;
  /** Where the scale holds, as the caption says it. */
  readonly words: string;
}

const rounds = [200, 100, 50, 20, 10, 5, 2, 1, 0.5];

/**
 * A bar of a round length, about a fifth of the picture's width. Scale differs with height above the mat and
 * with perspective, so that the bar says where it holds: in the plane of the largest part, else on the mat.
 */
export function scaleBarOf(photo: PhotoRecord, widthPx: number, only?: string): ScaleBar | undefined {
  let best: { pxPerMm: number; size: number; words: string } | undefined;
  for (const part of photo.parts) {
    const bar = part.outline?.scale_bar;
    if (!bar || (only !== undefined && part.id !== only)) continue;
    const px = Math.hypot(bar.to_px[0] - bar.from_px[0], bar.to_px[1] - bar.from_px[1]);
    const size = part.tip_diameter_mm?.value ?? 0;
    if (px > 0 && (best === undefined || size > best.size))
      best = { pxPerMm: px / bar.length_mm, size, words: `in the plane of ${partName(part)}` };
  }
  const { px_per_mm } = photo.scale;
  if (best === undefined && px_per_mm !== undefined)
    best = { pxPerMm: px_per_mm, size: 0, words: photo.scale.source === "mat" ? "on the mat" : "as given" };
  if (best === undefined) return undefined;
  const { pxPerMm, words } = best;
  const lengthMm = rounds.find((mm) => mm * pxPerMm <= 0.24 * widthPx) ?? 0.5;
  return { lengthMm, lengthPx: lengthMm * pxPerMm, words };
}

/** Black and white in turn, as on a rule, so that it reads on any ground and in any print. */
export function ScaleBarMarks(props: {
  readonly bar: ScaleBar;
  /** Left end of the bar's upper edge. */
  readonly at: XyPx;
  readonly fontSize: number;
}): JSX.Element {
  const { bar, at, fontSize } = props;
  const steps = 4;
  const step = bar.lengthPx / steps;
  const height = fontSize * 0.42;
  const r = (v: number): number => Math.round(v * 10) / 10;
  return (
    <g>
      {Array.from({ length: steps }, (_, i) => (
        <rect
          key={i}
          x={r(at[0] + i * step)}
          y={r(at[1])}
          width={r(step)}
          height={r(height)}
          fill={i % 2 === 0 ? colours.ink : colours.paper}
          stroke={colours.ink}
          stroke-width={r(fontSize * 0.07)}
        />
      ))}
    </g>
  );
}

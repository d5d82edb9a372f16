import type { SetRecord } from "../../record/index.js";
import { numberText } from "../rounded.js";
import { faint, fontSize, grey, ink, px, roundMagnification, sans } from "./plot-style.js";
import type { Plot } from "./rim-plot.js";

const size = 400;
const middle = size / 2;
const baseRadius = 125;
const reach = 45;

type RunoutPlot = Plot & { readonly magnification: number };

/**
 * What a probe at the rim reads over a turn about the arbor's axis, in polar form: the tooth circle, off the axis by the
 * eccentricity, magnified as written on the plot. Directions are those of the first photograph.
 */
export const arborRunoutPlot = (set: SetRecord, tipRadiusMm: number): RunoutPlot | undefined =>
  polarPlot(set, set.eccentricity_mm?.value, set.eccentricity_angle_deg?.value, tipRadiusMm, "run-out");

/** The same for a probe that stands on the face at the tips: outwards is up. */
export const axialRunoutPlot = (set: SetRecord, tipRadiusMm: number): RunoutPlot | undefined => {
  const runout = set.axial_runout_mm?.value;
  const half = runout === undefined ? undefined : runout / 2;
  return polarPlot(set, half, set.axial_high_angle_deg?.value, tipRadiusMm, "axial run-out");
};

/** @param e half of the run-out, highest at `angle`. */
function polarPlot(
  set: SetRecord,
  e: number | undefined,
  angle: number | undefined,
  tipRadiusMm: number,
  words: string,
): RunoutPlot | undefined {
  if (set.kind !== "turn" || e === undefined || angle === undefined || !(e > 0)) return undefined;
  const magnification = roundMagnification((reach / e) * (tipRadiusMm / baseRadius));
  const drawnE = (magnification * baseRadius * e) / tipRadiusMm;
  const at = (deg: number, r: number): readonly [number, number] => {
    const a = (deg * Math.PI) / 180;
    return [px(middle + r * Math.cos(a)), px(middle - r * Math.sin(a))];
  };
  // Radius of the offset circle about the axis, to first order in e: mean + e cos(direction).
  const curve = Array.from({ length: 121 }, (_, i) =>
    at(3 * i, baseRadius + drawnE * Math.cos(((3 * i - angle) * Math.PI) / 180)).join(","),
  );
  const high = at(angle, baseRadius + drawnE);
  const low = at(angle + 180, baseRadius - drawnE);
  const drawing = (
    <g font-family={sans} font-size={fontSize} fill={ink}>
      <circle cx={middle} cy={middle} r={baseRadius} fill="none" stroke={grey} stroke-width={1.1} />
      {[0, 90, 180, 270].map((deg) => {
        const [x, y] = at(deg, baseRadius + reach);
        return <line key={deg} x1={middle} y1={middle} x2={x} y2={y} stroke={faint} stroke-width={0.9} />;
      })}
      <path d={`M${curve.join("L")}Z`} fill="none" stroke={ink} stroke-width={1.6} />
      <path d={`M${high.join(",")}L${low.join(",")}`} stroke={grey} stroke-width={1} stroke-dasharray="5 4" />
      <circle cx={high[0]} cy={high[1]} r={3.5} fill={ink} />
      <circle cx={low[0]} cy={low[1]} r={3.5} fill="#ffffff" stroke={ink} stroke-width={1.2} />
      <text x={16} y={size - 30}>
        {`${words} ${numberText(2 * e, words === "run-out" ? 3 : 2)} mm`}
      </text>
      <text x={16} y={size - 14} fill={grey}>
        dot: high point
      </text>
      <text x={size - 16} y={size - 14} text-anchor="end" font-weight="bold">
        {`deviations × ${magnification}`}
      </text>
    </g>
  );
  return { drawing, width: size, height: size, magnification };
}

import type { SetRecord } from "../../record/index.js";
import { numberText } from "../rounded.js";
import {
  decimalsOf,
  faint,
  fontSize,
  grey,
  ink,
  px,
  roundMagnification,
  roundStep,
  sans,
} from "./plot-style.js";
import type { Plot } from "./rim-plot.js";

const size = 400;
const middle = size / 2;
const reach = 140;
/** The tooth circle would be drawn this large: what the magnification refers to. */
const rimRadius = 180;

/**
 * Where something stood in each photograph, magnified as written on the plot: the centre of the tooth circle about the
 * axis (turn set), or the arbor in the wheel (play set).
 *
 * @param tipRadiusMm of the wheel; a picture of it as large as the plot is the scale of the magnification.
 * @returns undefined with fewer than two places.
 */
export function centrePathPlot(
  set: SetRecord,
  tipRadiusMm: number,
): (Plot & { readonly magnification: number }) | undefined {
  const axis = set.axis_mm;
  const places = (set.positions ?? []).flatMap((p, i) => {
    const at =
      set.kind === "play"
        ? p.arbor_mm
        : axis && ([p.centre_mm[0] - axis[0], p.centre_mm[1] - axis[1]] as const);
    return at ? [{ number: i + 1, x: at[0], y: at[1], leftOut: p.left_out !== undefined }] : [];
  });
  if (places.length < 2) return undefined;
  const circleMm =
    set.kind === "turn" ? set.eccentricity_mm?.value : (set.detection_limits?.radial_play_mm ?? 0) / 2;
  const greatest = Math.max(...places.map((p) => Math.hypot(p.x, p.y)), circleMm ?? 0, 0.005);
  const magnification = roundMagnification((reach / greatest) * (tipRadiusMm / rimRadius));
  const perMm = (magnification * rimRadius) / tipRadiusMm;
  const step = roundStep(reach / perMm, 3);
  const at = (x: number, y: number): readonly [number, number] => [
    px(middle + x * perMm),
    px(middle - y * perMm),
  ];
  const used = places.filter((p) => !p.leftOut);
  const drawing = (
    <g font-family={sans} font-size={fontSize} fill={ink}>
      <line x1={20} y1={middle} x2={size - 20} y2={middle} stroke={faint} stroke-width={0.9} />
      <line x1={middle} y1={20} x2={middle} y2={size - 20} stroke={faint} stroke-width={0.9} />
      {circleMm !== undefined && circleMm > 0 ? (
        <circle
          cx={middle}
          cy={middle}
          r={px(circleMm * perMm)}
          fill="none"
          stroke={grey}
          stroke-width={1.2}
          stroke-dasharray="5 4"
        />
      ) : undefined}
      <path
        d={`M${used.map((p) => at(p.x, p.y).join(",")).join("L")}`}
        fill="none"
        stroke={grey}
        stroke-width={1}
      />
      <path
        d={`M${middle - 7},${middle}h14M${middle},${middle - 7}v14`}
        stroke={ink}
        stroke-width={1.4}
        fill="none"
      />
      {places.map((p) => {
        const [x, y] = at(p.x, p.y);
        return (
          <g key={p.number}>
            <circle cx={x} cy={y} r={4} fill={p.leftOut ? "#ffffff" : ink} stroke={ink} stroke-width={1.2} />
            <text x={px(x + 8)} y={px(y - 6)} font-weight="bold">
              {p.number}
            </text>
          </g>
        );
      })}
      <line x1={20} y1={size - 14} x2={px(20 + step * perMm)} y2={size - 14} stroke={ink} stroke-width={2} />
      <text x={20} y={size - 22}>{`${numberText(step, decimalsOf(step))} mm`}</text>
      <text x={size - 16} y={size - 14} text-anchor="end" font-weight="bold">
        {`magnified × ${magnification}`}
      </text>
    </g>
  );
  return { drawing, width: size, height: size, magnification };
}

import { fitHarmonics } from "../../fit/index.js";
import type { PartRecord } from "../../record/index.js";
import { numberText } from "../rounded.js";
import { decimalsOf, faint, fontSize, grey, ink, px, roundStep, sans } from "./plot-style.js";
import type { Plot } from "./rim-plot.js";

const size = 400;
const centre = size / 2;
const baseRadius = 112;
/** Greatest deviation reaches this far from the mean circle. */
const reach = 50;

/**
 * Run-out in polar form: how far each tip lies outside or inside the mean tip circle, magnified as written on
 * the plot. None without tip deviations in mm.
 */
export function runoutPlot(part: PartRecord): (Plot & { readonly magnification: number }) | undefined {
  const places = (part.teeth?.places ?? []).filter((p) => p.tip_deviation_mm !== undefined);
  const tipMm = part.tip_diameter_mm?.value;
  if (places.length < 5 || tipMm === undefined) return undefined;
  const greatest = Math.max(...places.map((p) => Math.abs(p.tip_deviation_mm!)), 0.005);
  // The mean circle is drawn at its own small scale, deviations at another: their ratio is the magnification.
  const magnification = roundDown((reach / greatest) * (tipMm / 2 / baseRadius));
  const perMm = (magnification * baseRadius) / (tipMm / 2);
  const step = roundStep((2 * reach) / perMm, 4);
  const rings: number[] = [];
  for (let k = -2; k <= 2; k++) if (Math.abs(k * step * perMm) <= reach + 12) rings.push(k * step);
  const point = (deg: number, mm: number): readonly [number, number] => {
    const r = baseRadius + mm * perMm;
    const a = (deg * Math.PI) / 180;
    return [px(centre + r * Math.cos(a)), px(centre - r * Math.sin(a))];
  };
  const ordered = [...places].sort((a, b) => a.angle_deg - b.angle_deg);
  const pitch = 360 / (part.teeth?.count ?? places.length);
  let d = "";
  ordered.forEach((place, i) => {
    const before = ordered[(i + ordered.length - 1) % ordered.length]!;
    const gap = (place.angle_deg - before.angle_deg + 360) % 360;
    const [x, y] = point(place.angle_deg, place.tip_deviation_mm!);
    // The line is broken where teeth are missing.
    d += `${i === 0 || gap > 1.6 * pitch ? "M" : "L"}${x},${y}`;
  });
  const first = ordered[0]!;
  if ((first.angle_deg - ordered.at(-1)!.angle_deg + 360) % 360 < 1.6 * pitch)
    d += `L${point(first.angle_deg, first.tip_deviation_mm!).join(",")}`;
  // What an off-centre tooth circle looks like, to first order.
  const fit = fitHarmonics(
    Float64Array.from(ordered, (p) => (p.angle_deg * Math.PI) / 180),
    Float64Array.from(ordered, (p) => p.tip_deviation_mm!),
    [1],
  );
  const wave = fit.ok ? fit.value.harmonics[0]! : undefined;
  const fitted = Array.from({ length: 73 }, (_, i) => {
    const a = (i * 5 * Math.PI) / 180;
    const mm = wave && fit.ok ? fit.value.mean + wave.cosine * Math.cos(a) + wave.sine * Math.sin(a) : 0;
    return point(i * 5, mm).join(",");
  });
  const numberEvery = places.length > 60 ? 10 : 5;
  const numbered = (part.teeth?.places ?? []).filter((p) => p.number === 1 || p.number % numberEvery === 0);
  const missing = (part.teeth?.places ?? []).filter((p) => p.state === "missing");
  const labelRadius = (baseRadius + reach + 20) / perMm - baseRadius / perMm;
  const drawing = (
    <g font-family={sans} font-size={fontSize} fill={ink}>
      {rings.map((mm) => (
        <circle
          key={mm}
          cx={centre}
          cy={centre}
          r={px(baseRadius + mm * perMm)}
          fill="none"
          stroke={mm === 0 ? grey : faint}
          stroke-width={mm === 0 ? 1.1 : 0.9}
        />
      ))}
      {[0, 90, 180, 270].map((deg) => {
        const [x1, y1] = point(deg, -(baseRadius - 20) / perMm);
        const [x2, y2] = point(deg, (reach + 8) / perMm);
        return <line key={deg} x1={x1} y1={y1} x2={x2} y2={y2} stroke={faint} stroke-width={0.9} />;
      })}
      <path d={`M${fitted.join("L")}`} fill="none" stroke={grey} stroke-width={1.2} stroke-dasharray="5 4" />
      <path d={d} fill="none" stroke={ink} stroke-width={1} />
      {ordered.map((p) => {
        const [x, y] = point(p.angle_deg, p.tip_deviation_mm!);
        return <circle key={p.number} cx={x} cy={y} r={places.length > 60 ? 1.6 : 2.2} fill={ink} />;
      })}
      {missing.map((p) => {
        const [x, y] = point(p.angle_deg, 0);
        return (
          <g key={p.number}>
            <circle cx={x} cy={y} r={5} fill="#ffffff" stroke={ink} stroke-width={1.3} />
            <path
              d={`M${x - 2.8},${y - 2.8}L${x + 2.8},${y + 2.8}M${x - 2.8},${y + 2.8}L${x + 2.8},${y - 2.8}`}
              stroke={ink}
              stroke-width={1.3}
              fill="none"
            />
          </g>
        );
      })}
      {numbered.map((p) => {
        const [x, y] = point(p.angle_deg, labelRadius);
        return (
          <text key={p.number} x={x} y={px(y + 4)} text-anchor="middle" fill={grey}>
            {p.number}
          </text>
        );
      })}
      {rings.map((mm) => (
        <g key={mm}>
          <rect
            x={centre - 24}
            y={px(centre + baseRadius + mm * perMm - 7)}
            width={48}
            height={14}
            fill="#ffffff"
            fill-opacity={0.85}
          />
          <text x={centre} y={px(centre + baseRadius + mm * perMm + 4)} text-anchor="middle">
            {mm === 0 ? "mean" : `${mm > 0 ? "+" : ""}${numberText(mm, decimalsOf(step))}`}
          </text>
        </g>
      ))}
      <text x={centre} y={centre - 12} text-anchor="middle" font-weight="bold">
        {`deviations × ${magnification}`}
      </text>
      <text x={centre} y={centre + 5} text-anchor="middle">
        rings in mm
      </text>
      <text x={centre} y={centre + 22} text-anchor="middle">
        dashed: offset circle
      </text>
    </g>
  );
  return { drawing, width: size, height: size, magnification };
}

/** 1, 2 or 5 times a power of ten, not above `v`. */
function roundDown(v: number): number {
  const power = 10 ** Math.floor(Math.log10(v));
  return ([5, 2, 1].find((f) => f * power <= v) ?? 1) * power;
}

import type { JSX } from "preact";
import type { PartRecord } from "../../record/index.js";
import { pathData } from "../path-data.js";
import { numberText } from "../rounded.js";
import { decimalsOf, faint, fontSize, grey, ink, px, roundStep, sans } from "./plot-style.js";

const width = 720;
const left = 58;
const right = 70;
const rowHeight = 118;
const rowGap = 46;
const top = 30;

export interface Plot {
  readonly drawing: JSX.Element;
  readonly width: number;
  readonly height: number;
}

/** Samples that one row shows: enough for the print, few enough for the file. */
const mostPoints = 720;

/**
 * The outline unrolled: distance from the centre of the tooth circle against angle, counter-clockwise from x.
 * Missing teeth, tooth numbers and stretches that were not seen are marked. None without a rim.
 */
export function rimPlot(part: PartRecord): Plot | undefined {
  const { rim } = part;
  const radii = rim?.radius_mm ?? rim?.radius_px;
  if (!rim || !radii || radii.length < 16) return undefined;
  const unit = rim.radius_mm ? "mm" : "px";
  const unseen = new Uint8Array(radii.length);
  for (const [from, length] of rim.unseen) unseen.fill(1, from, from + length);
  const seenRadii = radii.filter((_, i) => !unseen[i]);
  if (seenRadii.length < 16) return undefined;
  const least = seenRadii.reduce((a, b) => Math.min(a, b), Infinity);
  const most = seenRadii.reduce((a, b) => Math.max(a, b), -Infinity);
  const span = Math.max(most - least, 1e-6);
  const [from, to] = [least - 0.08 * span, most + 0.08 * span];
  const rowCount = (part.teeth?.count ?? 0) > 24 ? 2 : 1;
  const degrees = 360 / rowCount;
  const inner = width - left - right;
  const rows = Array.from({ length: rowCount }, (_, row) => {
    const y0 = top + row * (rowHeight + rowGap);
    const start = row * degrees;
    const x = (deg: number): number => left + ((deg - start) / degrees) * inner;
    const y = (radius: number): number => y0 + rowHeight * (1 - (radius - from) / (to - from));
    return { y0, start, x, y };
  });
  const at = (i: number): number => (rim.start_deg + i * rim.step_deg) % 360;
  const yStep = roundStep(to - from, 5);
  const yTicks: number[] = [];
  for (let v = Math.ceil(from / yStep) * yStep; v <= to; v += yStep) yTicks.push(v);
  const places = part.teeth?.places ?? [];
  const numberEvery = places.length > 60 ? 10 : 5;
  const references = [
    { name: "tip", mm: part.tip_diameter_mm?.value },
    { name: "root", mm: part.root_diameter_mm?.value },
  ].flatMap(({ name, mm }) => (mm === undefined || unit === "px" ? [] : [{ name, radius: mm / 2 }]));
  const height = top + rowCount * rowHeight + (rowCount - 1) * rowGap + 40;
  const drawing = (
    <g font-family={sans} font-size={fontSize} fill={ink}>
      {rows.map(({ y0, start, x, y }, row) => (
        <g key={row}>
          {stretches(unseen).map(([a, length]) => (
            <Hatch
              key={a}
              from={at(a)}
              length={length * rim.step_deg}
              start={start}
              degrees={degrees}
              x={x}
              y0={y0}
            />
          ))}
          {yTicks.map((v) => (
            <g key={v}>
              <line
                x1={left}
                x2={width - right}
                y1={px(y(v))}
                y2={px(y(v))}
                stroke={faint}
                stroke-width={0.8}
              />
              <text x={left - 6} y={px(y(v) + 4)} text-anchor="end" fill={ink}>
                {numberText(v, decimalsOf(yStep))}
              </text>
            </g>
          ))}
          {references.map(({ name, radius }) => (
            <g key={name}>
              <line
                x1={left}
                x2={width - right}
                y1={px(y(radius))}
                y2={px(y(radius))}
                stroke={grey}
                stroke-width={0.9}
                stroke-dasharray="7 4"
              />
              <text x={width - right + 5} y={px(y(radius) + 4)}>
                {`mean ${name}`}
              </text>
            </g>
          ))}
          <path
            d={outlinePath(radii, unseen, at, start, degrees, x, y)}
            fill="none"
            stroke={ink}
            stroke-width={1}
          />
          <rect
            x={left}
            y={y0}
            width={inner}
            height={rowHeight}
            fill="none"
            stroke={grey}
            stroke-width={0.8}
          />
          {Array.from({ length: degrees / 30 + 1 }, (_, i) => start + 30 * i).map((deg) => (
            <g key={deg}>
              <line
                x1={px(x(deg))}
                x2={px(x(deg))}
                y1={y0 + rowHeight}
                y2={y0 + rowHeight + 4}
                stroke={grey}
                stroke-width={0.8}
              />
              <text x={px(x(deg))} y={y0 + rowHeight + 16} text-anchor="middle">
                {`${deg}°`}
              </text>
            </g>
          ))}
          {places
            .filter(({ angle_deg: a }) => a >= start && a < start + degrees)
            .filter(({ number: n, state }) => n === 1 || n % numberEvery === 0 || state === "missing")
            .map(({ number, angle_deg, state }) =>
              state === "missing" ? (
                <Cross key={number} x={x(angle_deg)} y={y0 - 8} />
              ) : (
                <text key={number} x={px(x(angle_deg))} y={y0 - 5} text-anchor="middle" fill={grey}>
                  {number}
                </text>
              ),
            )}
        </g>
      ))}
      <text x={4} y={top - 14} fill={ink}>
        {`radius, ${unit}`}
      </text>
      <text x={width - right} y={height - 6} text-anchor="end" fill={ink}>
        angle, counter-clockwise from x of the sheet; numbers above are teeth
      </text>
    </g>
  );
  return { drawing, width, height };
}

function stretches(flags: Uint8Array): [number, number][] {
  const runs: [number, number][] = [];
  for (let i = 0; i < flags.length; i++) {
    if (!flags[i]) continue;
    const run = runs.at(-1);
    if (run && run[0] + run[1] === i) run[1]++;
    else runs.push([i, 1]);
  }
  return runs;
}

function outlinePath(
  radii: readonly number[],
  unseen: Uint8Array,
  at: (i: number) => number,
  start: number,
  degrees: number,
  x: (deg: number) => number,
  y: (radius: number) => number,
): string {
  const inRow: { deg: number; i: number }[] = [];
  for (let i = 0; i < radii.length; i++) {
    const deg = at(i);
    if (deg >= start && deg < start + degrees) inRow.push({ deg, i });
  }
  inRow.sort((a, b) => a.deg - b.deg);
  const step = Math.max(1, inRow.length / mostPoints);
  let d = "";
  let run: (readonly [number, number])[] = [];
  const end = (): void => {
    d += pathData(run);
    run = [];
  };
  for (let k = 0; k < inRow.length; k += step) {
    const { deg, i } = inRow[Math.floor(k)]!;
    if (unseen[i]) end();
    else run.push([x(deg), y(radii[i]!)]);
  }
  end();
  return d;
}

/** Hatching, so that a gap in the data is no gap in the rim. */
function Hatch(props: {
  from: number;
  length: number;
  start: number;
  degrees: number;
  x: (deg: number) => number;
  y0: number;
}): JSX.Element {
  const { from, length, start, degrees, x, y0 } = props;
  const [a, b] = [Math.max(from, start), Math.min(from + length, start + degrees)];
  if (b <= a) return <g />;
  const lines: string[] = [];
  for (let u = x(a); u < x(b); u += 6) {
    const v = Math.min(u + 6, x(b));
    for (let k = 0; k < rowHeight; k += 12)
      lines.push(`M${px(u)},${px(y0 + Math.min(rowHeight, k + 12))}L${px(v)},${px(y0 + k)}`);
  }
  return <path d={lines.join("")} stroke={faint} stroke-width={1} fill="none" />;
}

function Cross({ x, y }: { x: number; y: number }): JSX.Element {
  return (
    <g>
      <circle cx={px(x)} cy={px(y)} r={5} fill="#ffffff" stroke={ink} stroke-width={1.3} />
      <path
        d={`M${px(x - 2.8)},${px(y - 2.8)}L${px(x + 2.8)},${px(y + 2.8)}M${px(x - 2.8)},${px(y + 2.8)}L${px(x + 2.8)},${px(y - 2.8)}`}
        stroke={ink}
        stroke-width={1.3}
        fill="none"
      />
    </g>
  );
}

import type { JSX } from "preact";
import type { TrainResult } from "../../record/index.js";
import { shownText } from "../shown-text.js";
import { faint, fontSize, grey, ink, px, sans } from "./plot-style.js";
import type { Plot } from "./rim-plot.js";

interface DrawnArbor {
  readonly name: string;
  readonly wheel?: number;
  readonly pinion?: number;
  readonly wheelMissing: boolean;
  readonly pinionMissing: boolean;
  readonly escape: boolean;
  readonly parent: number;
}

/** A missing count is drawn at this size, dashed, with a question mark. */
const assumedWheel = 60;
const assumedPinion = 8;

/**
 * The train from the great wheel on, seen from the front: circles in proportion to their counts, as if all had one
 * module. None for a train of fewer than two arbors.
 */
export function trainDrawing(train: TrainResult): Plot | undefined {
  const index = new Map(train.arbors.map((arbor, i) => [arbor.name, i]));
  const arbors = train.arbors.map((arbor, i): DrawnArbor => {
    const part = (...names: string[]) => arbor.parts.find((p) => names.includes(p.part));
    const wheel = part("wheel", "escape wheel");
    const pinion = part("pinion");
    return {
      name: shownText(arbor.name, { max: 18 }),
      ...(wheel?.count === undefined ? {} : { wheel: wheel.count }),
      ...(pinion?.count === undefined ? {} : { pinion: pinion.count }),
      wheelMissing: wheel?.missing === true,
      pinionMissing: pinion?.missing === true,
      escape: wheel?.part === "escape wheel",
      parent: (arbor.drivenBy === undefined ? undefined : index.get(arbor.drivenBy)) ?? i - 1,
    };
  });
  if (arbors.length < 2) return undefined;
  const wheelOf = (a: DrawnArbor): number => a.wheel ?? (a.wheelMissing ? assumedWheel : 0);
  const pinionOf = (a: DrawnArbor): number => a.pinion ?? (a.pinionMissing ? assumedPinion : 0);
  const places: { x: number; y: number }[] = [];
  arbors.forEach((arbor, i) => {
    const parent = places[arbor.parent];
    if (i === 0 || !parent) {
      places.push({ x: 0, y: 0 });
      return;
    }
    const own = pinionOf(arbor) || wheelOf(arbor);
    const distance = Math.max(12, (wheelOf(arbors[arbor.parent]!) + own) / 2);
    // A shallow zigzag: names stay apart, and the row stays on the page.
    const angle = ((i % 2 === 1 ? 24 : -24) * Math.PI) / 180;
    places.push({ x: parent.x + distance * Math.cos(angle), y: parent.y - distance * Math.sin(angle) });
  });
  const radius = (a: DrawnArbor): number => Math.max(wheelOf(a), pinionOf(a), 6) / 2;
  const minX = Math.min(...arbors.map((a, i) => places[i]!.x - radius(a)));
  const maxX = Math.max(...arbors.map((a, i) => places[i]!.x + radius(a)));
  const minY = Math.min(...arbors.map((a, i) => places[i]!.y - radius(a)));
  const maxY = Math.max(...arbors.map((a, i) => places[i]!.y + radius(a)));
  const width = 720;
  const scale = Math.min((width - 40) / (maxX - minX), 2.6);
  const margin = 20;
  const labels = 56;
  const height = (maxY - minY) * scale + 2 * margin + labels;
  const ox = (width - (maxX - minX) * scale) / 2 - minX * scale;
  const oy = margin - minY * scale;
  const circle = (i: number, count: number, missing: boolean, thin: boolean): JSX.Element => (
    <circle
      cx={px(ox + places[i]!.x * scale)}
      cy={px(oy + places[i]!.y * scale)}
      r={px((count / 2) * scale)}
      fill="none"
      stroke={ink}
      stroke-width={thin ? 1 : 1.4}
      {...(missing ? { "stroke-dasharray": "4 4" } : {})}
    />
  );
  const countText = (count: number | undefined, missing: boolean): string =>
    count !== undefined ? `${count}` : missing ? "?" : "";
  const baseline = (maxY - minY) * scale + 2 * margin;
  const labelX = spread(
    arbors.map((_, i) => ox + places[i]!.x * scale),
    84,
    width,
  );
  const drawing = (
    <g font-family={sans} font-size={fontSize} fill={ink}>
      {arbors.map((arbor, i) => {
        const x = px(ox + places[i]!.x * scale);
        const y = oy + places[i]!.y * scale;
        return (
          <g key={i}>
            <path
              d={`M${x},${px(y)}L${px(labelX[i]!)},${px(baseline + 4)}`}
              stroke={faint}
              stroke-width={0.9}
              fill="none"
            />
            {wheelOf(arbor) > 0 && circle(i, wheelOf(arbor), arbor.wheelMissing, false)}
            {pinionOf(arbor) > 0 && circle(i, pinionOf(arbor), arbor.pinionMissing, true)}
            <circle cx={x} cy={px(y)} r={1.8} fill={ink} />
          </g>
        );
      })}
      {arbors.map((arbor, i) => {
        const counts = [
          countText(arbor.wheel, arbor.wheelMissing),
          countText(arbor.pinion, arbor.pinionMissing),
        ].filter((t) => t !== "");
        return (
          <g key={i}>
            <text x={px(labelX[i]!)} y={px(baseline + 17)} text-anchor="middle" font-weight="bold">
              {counts.join(" / ") || "–"}
            </text>
            <text x={px(labelX[i]!)} y={px(baseline + 32)} text-anchor="middle" fill={grey}>
              {arbor.name}
            </text>
          </g>
        );
      })}
    </g>
  );
  return { drawing, width, height: px(height) };
}

/** Moves labels sideways until neighbours keep their distance, as little as may be, within the page. */
function spread(wanted: readonly number[], least: number, width: number): number[] {
  const order = wanted.map((_, i) => i).sort((a, b) => wanted[a]! - wanted[b]!);
  const gap = Math.min(least, (width - 40) / Math.max(1, wanted.length - 1));
  const x = [...wanted];
  for (let pass = 0; pass < 200; pass++) {
    for (let k = 1; k < order.length; k++) {
      const [a, b] = [order[k - 1]!, order[k]!];
      const short = gap - (x[b]! - x[a]!);
      if (short > 0) {
        x[a]! -= short / 2;
        x[b]! += short / 2;
      }
    }
    for (const i of order) x[i] = Math.min(width - 24, Math.max(24, x[i]!));
  }
  return x;
}

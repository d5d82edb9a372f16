import type { JSX } from "preact";
import { useMemo } from "preact/hooks";
import type { PartRecord } from "../../../record/index.js";
import { FittingMarks } from "./fitting-marks.js";
import { partRadiusPx } from "./part-shape.js";
import { closedPath } from "./path.js";
import { toothLabels } from "./tooth-labels.js";
import { ToothTicks } from "./tooth-ticks.js";

/** What was measured, over the photograph: circles, a tick for each tooth, signs where one is not whole. */
export function PartMarks(props: {
  readonly part: PartRecord;
  readonly zoom: number;
  readonly chosen: boolean;
  readonly chosenTooth?: number | undefined;
}): JSX.Element {
  const { part, zoom, chosen, chosenTooth } = props;
  const px = 1 / zoom;
  const { outline, teeth } = part;
  const [cx, cy] = part.centre_px;
  // They stay as they are however the photograph is moved and zoomed.
  const circles = useMemo(
    () => ({
      tip: closedPath(outline?.tip_circle_px ?? []),
      root: closedPath(outline?.root_circle_px ?? []),
      pitch: closedPath(outline?.pitch_circle_px ?? []),
      bore: closedPath(outline?.bore_px ?? []),
    }),
    [outline],
  );
  const cross = `M${cx - 8 * px} ${cy}h${16 * px}M${cx} ${cy - 8 * px}v${16 * px}`;
  const radius = partRadiusPx(part) ?? 30 * px;
  const places = teeth?.places ?? [];
  const pitch = places.length > 0 ? (2 * Math.PI * radius * zoom) / places.length : 0;
  // Numbers stand where they find room: about 34 screen pixels each.
  const every = [1, 5, 10, 20, 50].find((n) => n * pitch > 34) ?? 100;
  const labels = toothLabels(places, ({ tip_px: [x, y] }) => [(x - cx) * zoom, (y - cy) * zoom], {
    every,
    numbers: chosen,
    here: chosenTooth,
  });
  return (
    <g class={chosen ? "part chosen" : "part"}>
      <path class="halo" d={circles.tip + cross} />
      <path class="tip" d={circles.tip + circles.bore + cross} />
      <path class="root" d={circles.root} />
      <path class="pitch" d={circles.pitch} />
      <FittingMarks part={part} zoom={zoom} />
      {pitch > 3.5 && <ToothTicks places={places} centre={[cx, cy]} px={px} chosen={chosenTooth} />}
      {pitch > 3.5 &&
        labels.map(({ text, number, at }) => (
          <text
            key={text}
            class={text === String(number) && number !== chosenTooth ? "" : "odd"}
            x={cx + at[0] * px}
            y={cy + (at[1] + 4) * px}
            font-size={13 * px}
            stroke-width={3.5 * px}
          >
            {text}
          </text>
        ))}
      {/* A pinion stands over the middle of its wheel, whose name is above it. */}
      <text
        class="name"
        x={cx}
        y={cy + (part.on_arbor_of === undefined ? -16 : 30) * px}
        font-size={17 * px}
        stroke-width={4 * px}
      >
        {[nameOf(part), part.kind === "plate" ? "" : String(teeth?.count ?? "?")].join("  ").trim()}
      </text>
    </g>
  );
}

const nameOf = ({ on_arbor_of, label, id }: PartRecord): string =>
  on_arbor_of === undefined ? (label ?? id) : "pinion";

import type { JSX } from "preact";
import type { PartRecord } from "../../../record/index.js";
import { partRadiusPx } from "./part-shape.js";
import type { Px } from "./stage.js";
import { toothLabels } from "./tooth-labels.js";

const path = (points: readonly Px[]): string =>
  points.length === 0 ? "" : `M${points.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}Z`;

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
      <path class="halo" d={path(outline?.tip_circle_px ?? [])} />
      <path class="tip" d={path(outline?.tip_circle_px ?? [])} />
      <path class="root" d={path(outline?.root_circle_px ?? [])} />
      <path class="pitch" d={path(outline?.pitch_circle_px ?? [])} />
      {outline?.bore_px && <path class="tip" d={path(outline.bore_px)} />}
      <path class="halo" d={`M${cx - 8 * px} ${cy}h${16 * px}M${cx} ${cy - 8 * px}v${16 * px}`} />
      <path class="tip" d={`M${cx - 8 * px} ${cy}h${16 * px}M${cx} ${cy - 8 * px}v${16 * px}`} />
      {pitch > 3.5 &&
        places.map((place) => {
          const [x, y] = place.tip_px;
          const r = Math.hypot(x - cx, y - cy) || 1;
          const far = (n: number): Px => [x + ((x - cx) / r) * n * px, y + ((y - cy) / r) * n * px];
          const [a, b] = [far(3), far(11)];
          const d = `M${a[0]} ${a[1]}L${b[0]} ${b[1]}`;
          return (
            <g
              key={place.number}
              class={`tooth ${place.state}${place.number === chosenTooth ? " here" : ""}`}
            >
              <path class="halo" d={d} />
              <path class="tick" d={d} />
            </g>
          );
        })}
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
      <text class="name" x={cx} y={cy - 16 * px} font-size={17 * px} stroke-width={4 * px}>
        {[part.label ?? part.id, teeth ? String(teeth.count) : "?"].join("  ")}
      </text>
    </g>
  );
}

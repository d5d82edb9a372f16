import type { JSX } from "preact";
import type { PartRecord } from "../../../record/index.js";
import { partRadiusPx } from "./part-shape.js";
import type { Px } from "./stage.js";

type Place = NonNullable<NonNullable<PartRecord["teeth"]>["places"]>[number];

const path = (points: readonly Px[]): string =>
  points.length === 0 ? "" : `M${points.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}Z`;

const stateMark: Readonly<Record<Place["state"], string>> = {
  whole: "",
  short: "broken",
  missing: "missing",
  bent: "bent",
  unseen: "?",
};

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
          const [ox, oy] = [(x - cx) / r, (y - cy) / r];
          const far = (n: number): Px => [x + ox * n * px, y + oy * n * px];
          const [a, b, c] = [far(3), far(11), far(24)];
          const odd = place.state !== "whole";
          const here = place.number === chosenTooth;
          return (
            <g key={place.number} class={`tooth ${place.state}${here ? " here" : ""}`}>
              <path class="halo" d={`M${a[0]} ${a[1]}L${b[0]} ${b[1]}`} />
              <path class="tick" d={`M${a[0]} ${a[1]}L${b[0]} ${b[1]}`} />
              {(odd || here || (chosen && (place.number === 1 || place.number % every === 0))) && (
                <text x={c[0]} y={c[1] + 4 * px} font-size={13 * px} stroke-width={3.5 * px}>
                  {place.number}
                  {stateMark[place.state] !== "" ? ` ${stateMark[place.state]}` : ""}
                </text>
              )}
            </g>
          );
        })}
      <text class="name" x={cx} y={cy - 16 * px} font-size={17 * px} stroke-width={4 * px}>
        {[part.label ?? part.id, teeth ? String(teeth.count) : "?"].join("  ")}
      </text>
    </g>
  );
}

import type { JSX } from "preact";
import type { PartRecord } from "../../../record/index.js";
import { partRadiusPx } from "./part-shape.js";
import { closedPath, linesPath } from "./path.js";
import type { Px } from "./stage.js";

/** Holes of a plate, pins of a wheel, notches of a count wheel, over the photograph. */
export function FittingMarks({ part, zoom }: { part: PartRecord; zoom: number }): JSX.Element {
  const px = 1 / zoom;
  return (
    <g>
      <Holes part={part} px={px} />
      <Pins part={part} px={px} />
      <Notches part={part} />
    </g>
  );
}

/** Edge and name of every hole, and a line out of either end of the longest diameter of one that is oval. */
function Holes({ part, px }: { part: PartRecord; px: number }): JSX.Element | null {
  const holes = (part.holes ?? []).flatMap((hole) =>
    hole.edge_px === undefined || hole.edge_px.length < 8 || hole.centre_px === undefined
      ? []
      : [{ ...hole, edge: hole.edge_px, centre: hole.centre_px }],
  );
  if (holes.length === 0) return null;
  const edges = holes.map(({ edge }) => closedPath(edge)).join("");
  const ovals = holes.flatMap(({ edge, centre, ovality_mm: oval, ovality_angle_deg: direction }) =>
    !oval || !direction || oval.value <= 2 * oval.u
      ? []
      : [direction.value, direction.value + 180].map((deg) => {
          const [x, y] = onCurve(edge, deg);
          const r = Math.hypot(x - centre[0], y - centre[1]) || 1;
          const [dx, dy] = [((x - centre[0]) / r) * px, ((y - centre[1]) / r) * px];
          return linesPath([
            [x + 2 * dx, y + 2 * dy],
            [x + 14 * dx, y + 14 * dy],
          ]);
        }),
  );
  return (
    <g>
      <path class="halo" d={edges} />
      <path class="tip" d={edges} />
      <path class="tick odd" d={ovals.join("")} />
      {holes.map(({ id = "", edge, centre }) => (
        <text
          key={id}
          x={centre[0]}
          y={Math.max(...edge.map(([, y]) => y)) + 14 * px}
          font-size={13 * px}
          stroke-width={3.5 * px}
        >
          {id}
        </text>
      ))}
    </g>
  );
}

function Pins({ part, px }: { part: PartRecord; px: number }): JSX.Element | null {
  const { pins, tip_diameter_mm: tip } = part;
  const places = (pins?.places ?? []).flatMap(({ end_px, state }) =>
    end_px === undefined ? [] : [{ at: end_px, state }],
  );
  if (!pins || places.length === 0) return null;
  const share = tip && pins.pin_diameter_mm ? pins.pin_diameter_mm.value / tip.value : 0;
  const radius = Math.max(6 * px, share * (partRadiusPx(part) ?? 0) + 2 * px);
  const rings = (wanted: boolean): string =>
    places
      .filter(({ state }) => (state === "whole" || state === "unseen") === wanted)
      .map(({ at }) => ring(at, radius))
      .join("");
  return (
    <g>
      <path class="halo" d={rings(true) + rings(false)} />
      <path class="tip" d={rings(true)} />
      <path class="tick odd" d={rings(false)} />
    </g>
  );
}

/** Both walls and the floor of every notch; a line across the rim where one is wanting, or one too many. */
function Notches({ part }: { part: PartRecord }): JSX.Element | null {
  const { notches, tip_diameter_mm: tip, outline } = part;
  const rim = outline?.tip_circle_px ?? [];
  if (!notches || rim.length < 8) return null;
  const [cx, cy] = part.centre_px;
  const at = (deg: number, share: number): Px => {
    const [x, y] = onCurve(rim, deg);
    return [cx + (x - cx) * share, cy + (y - cy) * share];
  };
  const walls = notches.notches.map(({ angle_deg: t, width_mm: width, depth_mm: depth }) => {
    if (!tip || width === undefined || depth === undefined) return linesPath([at(t, 1), at(t, 0.93)]);
    const half = (Math.asin(Math.min(1, width / tip.value)) * 180) / Math.PI;
    const floor = Math.max(0.2, 1 - (2 * depth) / tip.value);
    return linesPath([
      at(t - half, 1),
      at(t - half / floor, floor),
      at(t + half / floor, floor),
      at(t + half, 1),
    ]);
  });
  const odd = [...notches.missing, ...notches.extra].map(({ angle_deg: t }) =>
    linesPath([at(t, 0.94), at(t, 1.06)]),
  );
  return (
    <g>
      <path class="halo" d={walls.join("") + odd.join("")} />
      <path class="tip" d={walls.join("")} />
      <path class="tick odd" d={odd.join("")} />
    </g>
  );
}

/** Points of an outline follow each other evenly and counter-clockwise, from x. */
const onCurve = (points: readonly Px[], deg: number): Px => {
  const n = points.length;
  return points[((Math.round((deg / 360) * n) % n) + n) % n]!;
};

const ring = ([x, y]: Px, r: number): string =>
  `M${(x - r).toFixed(1)} ${y.toFixed(1)}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0`;

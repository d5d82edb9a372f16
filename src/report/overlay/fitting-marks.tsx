import type { JSX } from "preact";
import type { PartRecord } from "../../record/index.js";
import { pathData } from "../path-data.js";
import { shownText } from "../shown-text.js";
import type { PartFrame, XyPx } from "./frame.js";
import { colours, HaloPath, haloText, HaloText, Mark } from "./strokes.js";

interface MarksProps {
  readonly part: PartRecord;
  readonly frame: PartFrame;
  readonly unit: number;
}

const directionOf = ([x, y]: XyPx): XyPx => {
  const r = Math.hypot(x, y) || 1;
  return [x / r, y / r];
};
const along = ([x, y]: XyPx, [dx, dy]: XyPx, by: number): XyPx => [x + by * dx, y + by * dy];

/** A ring round the end of every lifting pin or trundle; places without a pin, or with a bent one, have their sign. */
export function Pins({ part, frame, unit }: MarksProps): JSX.Element {
  const { pins, tip_diameter_mm: tip } = part;
  const places = (pins?.places ?? []).flatMap((p) =>
    p.end_px === undefined ? [] : [{ ...p, at: p.end_px }],
  );
  if (places.length === 0) return <g />;
  const share = tip && pins?.pin_diameter_mm ? pins.pin_diameter_mm.value / tip.value : 0;
  const radius = Math.max(3 * unit, share * frame.radiusPx + unit);
  const ring = ([x, y]: XyPx): XyPx[] =>
    Array.from({ length: 24 }, (_, k) => {
      const t = (k * Math.PI) / 12;
      return [x + radius * Math.cos(t), y + radius * Math.sin(t)];
    });
  const rings = places
    .filter(({ state }) => state !== "missing")
    .map(({ at }) => pathData(ring(at), { closed: true }));
  return (
    <g>
      <HaloPath d={rings.join("")} width={unit} halo={0.6 * unit} colour={colours.pitch} />
      {places.map(({ at, state }, i) => {
        const outwards = directionOf([at[0] - frame.centre[0], at[1] - frame.centre[1]]);
        if (state === "missing") return <Mark key={i} shape="missing" at={at} size={4 * unit} />;
        if (state === "whole") return undefined;
        const shape = state === "off" ? "bent" : "unseen";
        return <Mark key={i} shape={shape} at={along(at, outwards, -radius - 6 * unit)} size={3.4 * unit} />;
      })}
    </g>
  );
}

/** Both walls and the floor of every notch or slot; where one is wanted, or one too many, its sign. */
export function Notches({ part, frame, unit }: MarksProps): JSX.Element {
  const { notches, tip_diameter_mm: tip } = part;
  if (!notches) return <g />;
  const radiusMm = tip && tip.value / 2;
  const on = (angleDeg: number, share: number): XyPx => along(frame.centre, frame.at(angleDeg), share);
  const walls = notches.notches.map(({ angle_deg: t, width_mm: width, depth_mm: depth }) => {
    if (radiusMm === undefined || width === undefined || depth === undefined)
      return pathData([on(t, 1), on(t, 0.93)]);
    const half = (Math.asin(Math.min(1, width / 2 / radiusMm)) * 180) / Math.PI;
    const floor = Math.max(0, 1 - depth / radiusMm);
    const wider = half / Math.max(0.2, floor);
    return pathData([
      on(t - half, 1),
      on(t - wider, floor),
      on(t, floor),
      on(t + wider, floor),
      on(t + half, 1),
    ]);
  });
  return (
    <g>
      <HaloPath d={walls.join("")} width={1.1 * unit} halo={0.6 * unit} colour={colours.root} />
      {notches.missing.map(({ angle_deg: t }, i) => (
        <Mark key={`missing${i}`} shape="missing" at={on(t, 1)} size={5 * unit} />
      ))}
      {notches.extra.map(({ angle_deg: t }, i) => (
        <Mark
          key={`extra${i}`}
          shape="extra"
          at={along(on(t, 1), directionOf(frame.at(t)), 12 * unit)}
          size={4.5 * unit}
        />
      ))}
    </g>
  );
}

/** The edge of every hole of a plate with its number, and a line along the longest diameter of one that is oval. */
export function Holes({ part, unit }: MarksProps): JSX.Element {
  const holes = (part.holes ?? []).flatMap((hole) => {
    const { edge_px: edge, centre_px: centre } = hole;
    return edge === undefined || centre === undefined || edge.length < 8 ? [] : [{ ...hole, edge, centre }];
  });
  if (holes.length === 0) return <g />;
  const size = 9.5 * unit;
  const edges = holes.map(({ edge }) => pathData(edge, { closed: true }));
  const ovals = holes.flatMap(({ edge, centre, ovality_mm: oval, ovality_angle_deg: direction }) => {
    if (!oval || !direction || oval.value <= 2 * oval.u) return [];
    // Points of an edge follow each other counter-clockwise from x, evenly.
    const at = (deg: number): XyPx => edge[Math.round((deg / 360) * edge.length) % edge.length]!;
    return [direction.value, direction.value + 180].map((deg) => {
      const end = at(deg);
      const outwards = directionOf([end[0] - centre[0], end[1] - centre[1]]);
      return pathData([along(end, outwards, 1.5 * unit), along(end, outwards, 9 * unit)]);
    });
  });
  return (
    <g>
      <HaloPath d={edges.join("")} width={unit} halo={0.6 * unit} colour={colours.tip} />
      <HaloPath d={ovals.join("")} width={1.6 * unit} halo={0.7 * unit} colour={colours.pitch} />
      <g {...haloText(size)}>
        {holes.map(({ id = "", edge, centre }) => {
          const lowest = Math.max(...edge.map(([, y]) => y));
          return (
            <HaloText
              key={id}
              at={[centre[0], lowest + 1.1 * size]}
              size={size}
              text={shownText(id, { max: 8 })}
            />
          );
        })}
      </g>
    </g>
  );
}

import { withinTurn } from "../../geometry/index.js";
import { pixelFromFace } from "../face-plane.js";
import type { TeethCount, ToothPlace } from "../part.js";
import type { ToothCount } from "./count-teeth.js";
import { doubtedShortTeeth } from "./doubted-short-teeth.js";
import { isRaked, type ToothCircle } from "./fit-tooth-circle.js";
import type { ToothDepth } from "./tooth-depth.js";
import type { ToothPlaces } from "./tooth-places.js";

/** Count and places of the teeth, numbered counter-clockwise from x. */
export function teethOf(
  places: ToothPlaces,
  count: ToothCount,
  circle: ToothCircle | undefined,
  depth: ToothDepth | undefined,
  scaled: boolean,
): TeethCount {
  const tipMm = depth?.tipMm ?? places.tipMm;
  const order = [...places.angleRad.keys()].sort(
    (p, q) => withinTurn(places.angleRad[p]!) - withinTurn(places.angleRad[q]!),
  );
  const asFound = order.map((k, i): ToothPlace => {
    const angleRad = withinTurn(places.angleRad[k]!);
    const index = circle?.indexDeviationMm[k];
    const tip = circle?.tipDeviationMm[k];
    return {
      number: i + 1,
      angleRad,
      state: circle?.states[k] ?? (places.seen[k] ? "whole" : "unseen"),
      tipPx: pixelFromFace(places.face, tipMm, angleRad),
      ...(scaled && index !== undefined && !Number.isNaN(index) ? { indexDeviationMm: index } : {}),
      ...(scaled && tip !== undefined && !Number.isNaN(tip) ? { tipDeviationMm: tip } : {}),
    };
  });
  const pitchPx = Math.hypot(
    ...([0, 1] as const).map(
      (axis) => tipAt(places, tipMm, places.pitchRad)[axis] - tipAt(places, tipMm, 0)[axis],
    ),
  );
  const doubted = doubtedShortTeeth(
    asFound,
    pitchPx,
    places.pitchRad * tipMm,
    circle !== undefined && isRaked(circle),
  );
  const list = asFound.map((p, i): ToothPlace => (doubted.has(i) ? { ...p, state: "whole" } : p));
  return {
    count: count.count,
    probability: count.probability,
    alternatives: count.alternatives,
    places: list,
    ...(circle === undefined ? {} : { flankWallShare: circle.flankWallShare }),
    missing: list.filter((p) => p.state === "missing").map(({ angleRad }) => ({ angleRad })),
    bent: (circle?.bent ?? []).map(({ place, offsetMm }) => ({
      angleRad: withinTurn(places.angleRad[place]!),
      offsetMm,
    })),
  };
}

const tipAt = (places: ToothPlaces, tipMm: number, angleRad: number): readonly [number, number] =>
  pixelFromFace(places.face, tipMm, angleRad);

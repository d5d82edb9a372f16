import { capsule, circle, crossingOpenings, placed, roundedRectangle } from "./outlines.js";
import { regionOf } from "./region.js";
import type { Region } from "./region.js";
import type { FaceLook, OtherPart, PlatePart, ScenePart, WheelPart } from "./scene.js";
import { wheelOutline } from "./wheel-outline.js";

export type Role = "face" | "collet" | "steel" | "pin" | "coin" | "screw" | "skin" | "card" | "strip";

/** Class per pixel of the truth mask. */
export const maskClass = { background: 0, wheel: 1, steel: 2, hole: 3 } as const;

/**
 * A straight-sided body: a flat region between two heights of its own frame, with a 45 degree bevel at the top.
 * The outline at full size lies under the bevel.
 */
export interface Solid {
  readonly region: Region;
  readonly bottomMm: number;
  readonly topMm: number;
  readonly bevelMm: number;
  readonly originMm: readonly [number, number, number];
  /** Mat frame from own frame, row-major. */
  readonly rotation: Float64Array;
  readonly partIndex: number;
  readonly role: Role;
  readonly look: FaceLook;
  readonly maskClass: number;
  /** The ground seen through this radius about the origin, at the top, is a hole through the part. */
  readonly holeRadiusMm: number;
  /** Polygons of the region, for shadows. */
  readonly polygons: readonly Float64Array[];
}

export const steelLook: FaceLook = {
  metal: "steel",
  finish: "turned",
  mottling: 0.1,
  scratches: 0,
  engraving: 0,
};

type Vector = readonly [number, number, number];

/** Rotation that tips the z axis by `tilt` towards `direction`, after a turn about z. */
export function tippedRotation(tilt: number, direction: number, turn: number): Float64Array {
  const c = Math.cos(tilt);
  const s = Math.sin(tilt);
  const cd = Math.cos(direction);
  const sd = Math.sin(direction);
  const tip = [
    cd * cd * c + sd * sd, cd * sd * (c - 1), cd * s,
    cd * sd * (c - 1), sd * sd * c + cd * cd, sd * s,
    -cd * s, -sd * s, c,
  ]; // prettier-ignore
  const ct = Math.cos(turn);
  const st = Math.sin(turn);
  const out = new Float64Array(9);
  for (let i = 0; i < 3; i++) {
    out[3 * i] = tip[3 * i]! * ct + tip[3 * i + 1]! * st;
    out[3 * i + 1] = -tip[3 * i]! * st + tip[3 * i + 1]! * ct;
    out[3 * i + 2] = tip[3 * i + 2]!;
  }
  return out;
}

export const rotated = (r: Float64Array, v: Vector): [number, number, number] => [
  r[0]! * v[0] + r[1]! * v[1] + r[2]! * v[2],
  r[3]! * v[0] + r[4]! * v[1] + r[5]! * v[2],
  r[6]! * v[0] + r[7]! * v[1] + r[8]! * v[2],
];

export function solidsOf(parts: readonly ScenePart[]): Solid[] {
  return parts.flatMap((part, index) => {
    switch (part.type) {
      case "wheel":
      case "pinion":
      case "count-wheel":
        return wheelSolids(part, index);
      case "plate":
        return [plateSolid(part, index)];
      case "tag":
        return [bodyOf(part, index, [roundedRectangle(31, 16, 0)], "card", cardLook, 0)];
      case "coin":
      case "washer":
      case "screw-head":
      case "screw-lying":
      case "finger":
      case "card":
      case "strip":
        return otherSolids(part, index);
    }
  });
}

export const cardLook: FaceLook = {
  metal: "nickel",
  finish: "matt",
  mottling: 0,
  scratches: 0,
  engraving: 0,
};

function bodyOf(
  part: ScenePart,
  partIndex: number,
  polygons: readonly Float64Array[],
  role: Role,
  look: FaceLook,
  bevelMm: number,
  extra: Partial<Pick<Solid, "maskClass" | "holeRadiusMm">> = {},
): Solid {
  return {
    region: regionOf(polygons, Math.max(0.01, 1.5 * bevelMm)),
    polygons,
    bottomMm: -part.thicknessMm,
    topMm: 0,
    bevelMm,
    originMm: [part.atMm[0], part.atMm[1], part.faceHeightMm],
    rotation: tippedRotation(part.tiltRad, part.tiltDirectionRad, part.turnRad),
    partIndex,
    role,
    look,
    maskClass: extra.maskClass ?? maskClass.background,
    holeRadiusMm: extra.holeRadiusMm ?? 0,
  };
}

/** Outline of a count wheel: a disc with notches; depth from the module like a tooth. */
function notchedDisc(part: WheelPart): Float64Array {
  const radius = (part.outline.toothCount * part.outline.moduleMm) / 2;
  const depth = part.outline.depthMm ?? 0.12 * radius;
  const out: number[] = [];
  const push = (r: number, a: number): void => void out.push(r * Math.cos(a), r * Math.sin(a));
  if (!part.notches?.length) return circle(0, 0, radius, 360);
  const notches = [...part.notches].sort((a, b) => a.angleRad - b.angleRad);
  notches.forEach((notch, i) => {
    const next = notches[(i + 1) % notches.length]!;
    const turn = i + 1 === notches.length ? 2 * Math.PI : 0;
    const from = notch.angleRad + notch.halfWidthRad;
    const to = next.angleRad + turn - next.halfWidthRad;
    push(radius - depth, notch.angleRad - notch.halfWidthRad * 0.9);
    push(radius - depth, notch.angleRad);
    push(radius - depth, notch.angleRad + notch.halfWidthRad * 0.9);
    const steps = Math.max(3, Math.ceil(((to - from) * radius) / 0.3));
    for (let k = 0; k <= steps; k++) push(radius, from + ((to - from) * k) / steps);
  });
  return Float64Array.from(out);
}

function wheelSolids(part: WheelPart, index: number): Solid[] {
  const [boreX, boreY] = part.boreAtMm;
  const outline = part.type === "count-wheel" ? notchedDisc(part) : wheelOutline(part.outline).xyMm;
  let rootRadius = Infinity;
  for (let i = 0; i < outline.length; i += 2)
    rootRadius = Math.min(rootRadius, Math.hypot(outline[i]!, outline[i + 1]!));
  const holes = part.crossings ? crossingOpenings(part.crossings) : [];
  const bore = part.boreRadiusMm > 0 ? [circle(boreX, boreY, part.boreRadiusMm)] : [];
  const spare = (part.spareHoles ?? []).map((h) => circle(h.atMm[0], h.atMm[1], h.radiusMm, 64));
  const isSteel = part.type === "pinion";
  const face = bodyOf(
    part,
    index,
    [outline, ...holes, ...bore, ...spare],
    isSteel ? "steel" : "face",
    part.look,
    part.bevelMm,
    {
      maskClass: isSteel ? maskClass.steel : maskClass.wheel,
      holeRadiusMm: 0.999 * rootRadius,
    },
  );
  const solids: Solid[] = [face];
  /** A body standing on the face at (x, y) of the part's frame. */
  const standing = (
    polygons: readonly Float64Array[],
    bottomMm: number,
    topMm: number,
    role: Role,
    look: FaceLook,
    bevelMm: number,
    rotation = face.rotation,
    origin = face.originMm,
  ): void => {
    solids.push({
      ...face,
      region: regionOf(polygons, Math.max(0.01, 1.5 * bevelMm)),
      polygons,
      bottomMm,
      topMm,
      bevelMm,
      role,
      look,
      rotation,
      originMm: origin,
      maskClass: role === "collet" ? maskClass.wheel : maskClass.steel,
      holeRadiusMm: 0,
    });
  };
  if (part.collet) {
    const { radiusMm, upMm } = part.collet;
    const inner = part.arbor ? [] : bore;
    standing(
      [circle(boreX, boreY, radiusMm), ...inner],
      0,
      upMm,
      "collet",
      part.look,
      Math.min(0.2, upMm / 4),
    );
  }
  if (part.pins) {
    const { count, circleRadiusMm, pinRadiusMm, upMm, phaseRad } = part.pins;
    for (let i = 0; i < count; i++) {
      const angle = phaseRad + (2 * Math.PI * i) / count;
      const x = boreX + circleRadiusMm * Math.cos(angle);
      const y = boreY + circleRadiusMm * Math.sin(angle);
      const bent = part.pins.bent?.find((b) => b.index === i);
      if (bent === undefined) {
        standing([circle(x, y, pinRadiusMm, 48)], 0, upMm, "pin", steelLook, 0.1 * pinRadiusMm);
        continue;
      }
      const own = multiply(face.rotation, tippedRotation(bent.leanRad, bent.directionRad, 0));
      const foot = rotated(face.rotation, [x, y, 0]);
      const at: Vector = [face.originMm[0] + foot[0], face.originMm[1] + foot[1], face.originMm[2] + foot[2]];
      standing([circle(0, 0, pinRadiusMm, 48)], 0, upMm, "pin", steelLook, 0.1 * pinRadiusMm, own, at);
    }
  }
  if (part.arbor) {
    const a = part.arbor;
    // The arbor leans about the point where it passes the face.
    const lean = tippedRotation(a.leanRad, a.leanDirectionRad, 0);
    const rotation = multiply(face.rotation, lean);
    const [playX, playY] = a.offsetMm ?? [0, 0];
    const offset = rotated(face.rotation, [boreX + playX, boreY + playY, 0]);
    const origin: Vector = [
      face.originMm[0] + offset[0],
      face.originMm[1] + offset[1],
      face.originMm[2] + offset[2],
    ];
    const body = circle(0, 0, a.radiusMm, 96);
    const pivot = circle(0, 0, a.pivotRadiusMm, 64);
    standing([body], -part.thicknessMm - a.downMm, a.upMm, "steel", steelLook, 0.05, rotation, origin);
    standing([pivot], a.upMm, a.upMm + a.pivotLengthMm, "steel", steelLook, 0.03, rotation, origin);
    if (part.pinion) {
      const p = part.pinion;
      const leaves = wheelOutline({
        toothCount: p.leaves,
        moduleMm: p.moduleMm,
        form: "pinion",
        phaseRad: p.phaseRad,
      }).xyMm;
      standing([leaves], p.fromMm, p.fromMm + p.lengthMm, "steel", steelLook, 0.08, rotation, origin);
    }
  }
  return solids;
}

function multiply(a: Float64Array, b: Float64Array): Float64Array {
  const out = new Float64Array(9);
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++)
      out[3 * i + j] = a[3 * i]! * b[j]! + a[3 * i + 1]! * b[3 + j]! + a[3 * i + 2]! * b[6 + j]!;
  return out;
}

/** Ellipse whose longest and shortest diameters differ by `ovalityMm`; their mean is `diameterMm`. */
function ovalHole(h: PlatePart["holes"][number]): Float64Array {
  const unit = circle(0, 0, 1);
  const a = h.diameterMm / 2 + h.ovalityMm / 4;
  const b = h.diameterMm / 2 - h.ovalityMm / 4;
  const scaled = unit.map((v, i) => v * (i % 2 === 0 ? a : b));
  return placed(scaled, h.ovalityAngleRad, h.atMm[0], h.atMm[1]);
}

function plateSolid(part: PlatePart, index: number): Solid {
  const outline = roundedRectangle(part.widthMm, part.heightMm, 2);
  return bodyOf(part, index, [outline, ...part.holes.map(ovalHole)], "face", part.look, part.bevelMm, {
    maskClass: maskClass.wheel,
    holeRadiusMm: Math.min(part.widthMm, part.heightMm) / 2,
  });
}

function otherSolids(part: OtherPart, index: number): Solid[] {
  const r = part.sizeMm / 2;
  switch (part.type) {
    case "coin":
      return [bodyOf(part, index, [circle(0, 0, r, 240)], "coin", part.look, 0.25)];
    case "washer":
      return [bodyOf(part, index, [circle(0, 0, r), circle(0, 0, 0.52 * r)], "strip", part.look, 0.1)];
    case "screw-head":
      return [bodyOf(part, index, [circle(0, 0, r)], "screw", part.look, 0.3)];
    case "screw-lying":
      return [bodyOf(part, index, [screwOutline(part.sizeMm)], "strip", part.look, 0.3)];
    case "finger":
      return [
        bodyOf(part, index, [capsule(0, 0, r, 6 * part.sizeMm, 0, 1.15 * r)], "skin", part.look, 0.8 * r),
      ];
    case "card":
      return [
        bodyOf(part, index, [roundedRectangle(part.sizeMm, 0.62 * part.sizeMm, 2)], "card", part.look, 0),
      ];
    case "strip":
      return [
        bodyOf(part, index, [roundedRectangle(part.sizeMm, 0.12 * part.sizeMm, 1)], "strip", part.look, 0.2),
      ];
  }
}

/** A screw seen from the side: head, shank, thread. Periodic on purpose: threads must not count as teeth. */
function screwOutline(lengthMm: number): Float64Array {
  const shank = 0.09 * lengthMm;
  const head = 0.19 * lengthMm;
  const top: [number, number][] = [
    [0, head],
    [0.15 * lengthMm, head],
    [0.15 * lengthMm, shank],
  ];
  const turns = 14;
  for (let k = 0; k < turns; k++) {
    const x = 0.3 * lengthMm + (0.68 * lengthMm * k) / turns;
    top.push([x, 0.82 * shank], [x + (0.34 * lengthMm) / turns, 1.05 * shank]);
  }
  top.push([lengthMm, 0.8 * shank]);
  const bottom = top.map(([x, y]): [number, number] => [x, -y]).reverse();
  return Float64Array.from([...bottom, ...top].flat());
}

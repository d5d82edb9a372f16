import { describeSheet, markerCornersMm } from "../../src/mat/index.js";
import type { RayTracer } from "./ray-tracer.js";
import { tilePx } from "./ray-tracer.js";
import { cameraPosition, project, rayThrough, toCamera } from "./scene-camera.js";
import type { PlatePart, Scene, SceneCamera, ScenePart, ScenePose, WheelPart } from "./scene.js";
import type { Hit } from "./shading.js";
import { sheetHeightMm } from "./sheet-height.js";
import type { Solid } from "./solids.js";
import { rotated, tippedRotation } from "./solids.js";
import { wheelOutline } from "./wheel-outline.js";

export type PointOf2 = readonly [number, number];

/** What is true in a rendered photograph. mm in the mat frame, rad counter-clockwise seen from the camera, px. */
export interface SceneTruth {
  readonly kind: string;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly camera: SceneCamera;
  readonly cameraFromMat: ScenePose;
  readonly cameraAtMm: readonly [number, number, number];
  readonly mat?: {
    readonly paper: string;
    readonly printScaleAcross: number;
    readonly printScaleAlong: number;
    readonly markers: readonly {
      readonly id: number;
      /** Top left, top right, bottom right, bottom left of the print. */
      readonly cornersPx: readonly PointOf2[];
      /** All four corners and the middle in the picture and uncovered. */
      readonly seen: boolean;
    }[];
  };
  readonly wheels: readonly WheelTruth[];
  readonly plates: readonly PlateTruth[];
  readonly tags: readonly { readonly label: string; readonly centrePx: PointOf2 }[];
  /** Things that must not be reported as toothed parts. */
  readonly others: readonly {
    readonly type: string;
    readonly centrePx: PointOf2;
    readonly radiusPx: number;
  }[];
}

interface PlacedTruth {
  readonly label: string;
  /** Centre of the tooth circle (or the part) on its face. */
  readonly centreMm: PointOf2;
  readonly centrePx: PointOf2;
  readonly faceHeightMm: number;
  readonly thicknessMm: number;
  readonly bevelMm: number;
  readonly tiltRad: number;
  readonly pxPerMm: number;
}

export interface WheelTruth extends PlacedTruth {
  readonly type: "wheel" | "pinion" | "count-wheel";
  readonly form: string;
  readonly toothCount: number;
  readonly teeth: readonly {
    readonly angleRad: number;
    readonly state: "whole" | "missing" | "broken" | "bent";
    readonly tipPx: PointOf2;
  }[];
  readonly missing: readonly { readonly angleRad: number }[];
  readonly broken: readonly { readonly angleRad: number; readonly fraction: number }[];
  readonly bent: readonly { readonly angleRad: number; readonly offsetMm: number }[];
  /** Of the full outline, under the bevel. */
  readonly tipDiameterMm: number;
  readonly rootDiameterMm: number;
  readonly pitchDiameterMm?: number;
  readonly moduleMm?: number;
  readonly crossings: number;
  readonly boreDiameterMm?: number;
  readonly boreHidden: boolean;
  /** Centre of the tooth circle minus centre of the bore (the axis), mat frame. */
  readonly eccentricityMm: PointOf2;
  readonly ovalityMm: number;
  readonly ovalityAngleRad: number;
  readonly threeLobeMm: number;
  readonly pins?: {
    readonly count: number;
    readonly circleDiameterMm: number;
    readonly bent: readonly { readonly angleRad: number }[];
  };
  readonly pinionLeaves?: number;
  /** Steep faces counter-clockwise (+1) or clockwise (-1). */
  readonly rake?: 1 | -1;
  readonly notchesRad?: readonly number[];
  readonly pxPerTooth: number;
  /** Share of the rim that is in the picture and uncovered. */
  readonly rimSeen: number;
}

export interface PlateTruth extends PlacedTruth {
  readonly holes: readonly {
    readonly centreMm: PointOf2;
    readonly centrePx: PointOf2;
    readonly diameterMm: number;
    readonly ovalityMm: number;
    readonly ovalityAngleRad: number;
    readonly use?: "pivot" | "pillar" | "screw";
  }[];
}

export function sceneTruth(scene: Scene, solids: readonly Solid[], tracer: RayTracer): SceneTruth {
  const see = visibility(scene, tracer);
  const { camera, pose } = scene;
  const wheels: WheelTruth[] = [];
  const plates: PlateTruth[] = [];
  const tagTruth: { label: string; centrePx: PointOf2 }[] = [];
  const others: { type: string; centrePx: PointOf2; radiusPx: number }[] = [];
  scene.parts.forEach((part, index) => {
    const placed = placedTruth(scene, part);
    switch (part.type) {
      case "wheel":
      case "pinion":
      case "count-wheel":
        wheels.push(wheelTruth(scene, part, placed, (p) => see(p) === index));
        break;
      case "plate":
        plates.push({ ...placed, ...plateHoles(scene, part) });
        break;
      case "tag":
        tagTruth.push({ label: part.tagLabel, centrePx: placed.centrePx });
        break;
      case "coin":
      case "washer":
      case "screw-head":
      case "screw-lying":
      case "finger":
      case "card":
      case "strip":
        others.push({
          type: part.type,
          centrePx: placed.centrePx,
          radiusPx: (placed.pxPerMm * part.sizeMm) / 2,
        });
        break;
    }
  });
  return {
    kind: scene.kind,
    widthPx: scene.widthPx,
    heightPx: scene.heightPx,
    camera,
    cameraFromMat: pose,
    cameraAtMm: cameraPosition(pose),
    ...(scene.ground.kind === "mat" ? { mat: matTruth(scene, see) } : {}),
    wheels,
    plates,
    tags: tagTruth,
    others,
  };

  /** Index of the part that is seen where a point should be: -1 the ground, undefined outside the picture. */
  function visibility(
    of: Scene,
    by: RayTracer,
  ): (p: readonly [number, number, number]) => number | undefined {
    const hit: Hit = { kind: 0, solid: -1, groundCode: 0, along: 0, x: 0, y: 0, z: 0, nx: 0, ny: 0 };
    return (p) => {
      const [u, v] = project(of.camera, of.pose, p);
      if (!(u >= -0.5 && v >= -0.5 && u < of.widthPx - 0.5 && v < of.heightPx - 0.5)) return undefined;
      const list = by.candidates(Math.floor((u + 0.5) / tilePx), Math.floor((v + 0.5) / tilePx));
      const [dx, dy, dz] = rayThrough(of.camera, of.pose, u, v);
      by.trace(dx, dy, dz, list, hit);
      return hit.kind === 0 ? -1 : solids[hit.solid]!.partIndex;
    };
  }
}

type See = (p: readonly [number, number, number]) => number | undefined;

/** Point of a part's own face frame in the mat frame. */
export function onFace(part: ScenePart, x: number, y: number, z = 0): [number, number, number] {
  const rotation = tippedRotation(part.tiltRad, part.tiltDirectionRad, part.turnRad);
  const v = rotated(rotation, [x, y, z]);
  return [part.atMm[0] + v[0], part.atMm[1] + v[1], part.faceHeightMm + v[2]];
}

function placedTruth(scene: Scene, part: ScenePart): PlacedTruth {
  const { camera, pose } = scene;
  const at = (dx: number, dy: number): [number, number] => project(camera, pose, onFace(part, dx, dy));
  const [u0, v0] = at(-0.5, 0);
  const [u1, v1] = at(0.5, 0);
  const [u2, v2] = at(0, -0.5);
  const [u3, v3] = at(0, 0.5);
  return {
    label: part.label,
    centreMm: part.atMm,
    centrePx: at(0, 0),
    faceHeightMm: part.faceHeightMm,
    thicknessMm: part.thicknessMm,
    bevelMm: "bevelMm" in part ? part.bevelMm : 0,
    tiltRad: part.tiltRad,
    pxPerMm: Math.sqrt(Math.abs((u1 - u0) * (v3 - v2) - (u3 - u2) * (v1 - v0))),
  };
}

function wheelTruth(
  scene: Scene,
  part: WheelPart,
  placed: PlacedTruth,
  isSeen: (p: readonly [number, number, number]) => boolean,
): WheelTruth {
  const isCountWheel = part.type === "count-wheel";
  const outline = isCountWheel ? undefined : wheelOutline(part.outline);
  const { toothCount, moduleMm } = part.outline;
  const tipDiameterMm = outline?.tipDiameterMm ?? toothCount * moduleMm;
  const rootDiameterMm =
    outline?.rootDiameterMm ?? tipDiameterMm - 2 * (part.outline.depthMm ?? 0.06 * tipDiameterMm);
  const turn = part.turnRad;
  const toTurned = (x: number, y: number): PointOf2 => {
    const v = rotated(tippedRotation(part.tiltRad, part.tiltDirectionRad, turn), [x, y, 0]);
    return [v[0], v[1]];
  };
  const teeth = (outline?.teeth ?? []).map((t) => {
    const r = tipDiameterMm / 2;
    return {
      angleRad: wrapped(t.angleRad + turn),
      state: t.state,
      tipPx: project(
        scene.camera,
        scene.pose,
        onFace(part, r * Math.cos(t.angleRad), r * Math.sin(t.angleRad), -part.bevelMm),
      ),
    };
  });
  const at = (i: number): number => teeth[i]!.angleRad;
  let seen = 0;
  const rim = 0.5 * rootDiameterMm - Math.min(0.3, 0.01 * rootDiameterMm) - part.bevelMm;
  for (let k = 0; k < 360; k++) {
    const angle = (k * Math.PI) / 180;
    if (isSeen(onFace(part, rim * Math.cos(angle), rim * Math.sin(angle)))) seen++;
  }
  const o = part.outline;
  const [ex, ey] = toTurned(part.boreAtMm[0], part.boreAtMm[1]);
  const slanted = o.form === "ratchet" || o.form === "escape-recoil" || o.form === "escape-deadbeat";
  return {
    ...placed,
    type: part.type,
    form: part.purpose ?? (isCountWheel ? "count-wheel" : o.form),
    toothCount,
    teeth,
    missing: (o.missing ?? []).map((i) => ({ angleRad: at(i) })),
    broken: (o.broken ?? []).map((b) => ({ angleRad: at(b.index), fraction: b.fraction })),
    bent: (o.bent ?? []).map((b) => ({ angleRad: at(b.index), offsetMm: b.offsetMm })),
    tipDiameterMm,
    rootDiameterMm,
    ...(outline?.pitchDiameterMm === undefined ? {} : { pitchDiameterMm: outline.pitchDiameterMm, moduleMm }),
    crossings: part.crossings?.count ?? 0,
    ...(part.boreRadiusMm > 0 ? { boreDiameterMm: 2 * part.boreRadiusMm } : {}),
    boreHidden: part.arbor !== undefined || part.boreRadiusMm <= 0,
    // "+ 0" turns a negative zero into 0.
    eccentricityMm: [-ex + 0, -ey + 0],
    ovalityMm: o.ovalMm ?? 0,
    ovalityAngleRad: wrapped((o.ovalAngleRad ?? 0) + turn),
    threeLobeMm: o.threeLobeMm ?? 0,
    ...(part.pins ? { pins: pinsTruth(part.pins, turn) } : {}),
    ...(part.pinion ? { pinionLeaves: part.pinion.leaves } : {}),
    ...(slanted ? { rake: o.rake ?? 1 } : {}),
    ...(part.notches ? { notchesRad: part.notches.map((n) => wrapped(n.angleRad + turn)) } : {}),
    pxPerTooth: (placed.pxPerMm * Math.PI * (outline?.pitchDiameterMm ?? tipDiameterMm)) / toothCount,
    rimSeen: seen / 360,
  };
}

function pinsTruth(pins: NonNullable<WheelPart["pins"]>, turn: number): NonNullable<WheelTruth["pins"]> {
  return {
    count: pins.count,
    circleDiameterMm: 2 * pins.circleRadiusMm,
    bent: (pins.bent ?? []).map(({ index }) => ({
      angleRad: wrapped(pins.phaseRad + (2 * Math.PI * index) / pins.count + turn),
    })),
  };
}

/** Into [0, 2 pi). */
function wrapped(angle: number): number {
  const turn = 2 * Math.PI;
  return ((angle % turn) + turn) % turn;
}

function plateHoles(scene: Scene, part: PlatePart): Pick<PlateTruth, "holes"> {
  return {
    holes: part.holes.map((h) => {
      const p = onFace(part, h.atMm[0], h.atMm[1]);
      return {
        centreMm: [p[0], p[1]],
        centrePx: project(scene.camera, scene.pose, p),
        diameterMm: h.diameterMm,
        ovalityMm: h.ovalityMm,
        ovalityAngleRad: wrapped(h.ovalityAngleRad + part.turnRad),
        ...(h.use === undefined ? {} : { use: h.use }),
      };
    }),
  };
}

function matTruth(scene: Scene, see: See): NonNullable<SceneTruth["mat"]> {
  const { ground, camera, pose } = scene;
  if (ground.kind !== "mat") throw new RangeError("the scene has no mat");
  const sheet = describeSheet(ground.paper);
  return {
    paper: ground.paper,
    printScaleAcross: ground.printScaleAcross,
    printScaleAlong: ground.printScaleAlong,
    markers: sheet.markers.map((marker) => {
      const printed = (x: number, y: number): [number, number, number] => {
        const px = x * ground.printScaleAcross;
        const py = y * ground.printScaleAlong;
        return [px, py, paperHeightMm(scene, px, py)];
      };
      const corners = markerCornersMm(marker, sheet.markerSizeMm).map(([x, y]) => printed(x, y));
      const middle = printed(marker.centreMm[0], marker.centreMm[1]);
      const inFront = corners.every((p) => toCamera(pose, p)[2] > 0);
      return {
        id: marker.id,
        cornersPx: corners.map((p) => project(camera, pose, p)),
        seen: inFront && [...corners, middle].every((p) => see(p) === -1 && !underSecond(scene, p[0], p[1])),
      };
    }),
  };
}

function underSecond(scene: Scene, x: number, y: number): boolean {
  const second = scene.ground.kind === "mat" ? scene.ground.second : undefined;
  if (!second) return false;
  const sheet = describeSheet(second.paper);
  const dx = x - second.atMm[0];
  const dy = y - second.atMm[1];
  const u = dx * Math.cos(second.turnRad) + dy * Math.sin(second.turnRad);
  const v = dy * Math.cos(second.turnRad) - dx * Math.sin(second.turnRad);
  return Math.abs(u) <= sheet.widthMm / 2 && Math.abs(v) <= sheet.heightMm / 2;
}

function paperHeightMm(scene: Scene, x: number, y: number): number {
  const { ground } = scene;
  if (ground.kind !== "mat") return 0;
  const sheet = describeSheet(ground.paper);
  return sheetHeightMm(ground, sheet.widthMm / 2, sheet.heightMm / 2, x, y);
}

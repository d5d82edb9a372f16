import type { CameraSeen, HubPicture, WheelMarks } from "../../src/parts/index.js";

export interface InventedMarks {
  readonly toothCount?: number;
  readonly tipRadiusMm?: number;
  readonly turnRad?: number;
  readonly centreMm?: readonly [number, number];
  readonly crossings?: number;
  /** 0: a round arbor. */
  readonly leaves?: number;
  readonly label?: string;
  /** Turn of the arbor on its own, and where it stands off the wheel's centre, mm. */
  readonly twistRad?: number;
  readonly arborMm?: readonly [number, number];
}

/** Marks of a wheel as drawn: straight arms, a round hub, an arbor with leaves, seen from straight above. */
export function inventedMarks(of: InventedMarks = {}): WheelMarks {
  const { toothCount = 60, tipRadiusMm = 20, turnRad = 0, centreMm = [0, 0], crossings = 5 } = of;
  const { leaves = 8, twistRad = 0, arborMm = [0, 0] } = of;
  const pitch = (2 * Math.PI) / toothCount;
  const angles = 720;
  const radii = 24;
  const bare = new Uint8Array(angles * radii);
  for (let i = 0; i < angles; i++) {
    const t = (2 * Math.PI * i) / angles - turnRad;
    const arm = crossings === 0 || Math.cos(crossings * t) > 0.6;
    for (let j = 6; j < radii - 4; j++) bare[i * radii + j] = arm ? 0 : 230;
  }
  return {
    partId: "part-1",
    ...(of.label === undefined ? {} : { label: of.label }),
    kind: "wheel",
    toothCount,
    countProbability: 0.999,
    tipRadiusMm,
    rootRadiusMm: tipRadiusMm - 1.5,
    uTipRadiusMm: 0.02,
    outlineMm: 1.9,
    faceMm: 2,
    uHeightMm: 0.06,
    heightGiven: true,
    cameraMm: [0, 0, 400],
    camera: stillCamera,
    pxPerMm: 10,
    centreMm,
    uCentreMm: 0.006,
    uCentreScatterMm: 0.003,
    tipsOffMm: [0, 0],
    uTipsOffMm: 0.007,
    wallMm: [0, 0],
    centreWallMm: [0, 0],
    spacingWallMm: [0, 0],
    uWallShare: 0.2,
    tipsWeight: 0.5,
    uSpacingMm: 0.008,
    uSpacingScatterMm: 0.003,
    centreTerms: [],
    toothPhaseRad: turnRad - pitch * Math.floor(turnRad / pitch),
    uToothPhaseRad: 0.0001,
    teeth: [],
    shifts: [],
    edgesApartMm: 1.3,
    coloured: true,
    face: { angles, radii, fromRadiusMm: 3, stepMm: 0.6, light: new Uint8Array(angles * radii), bare },
    hub: star(leaves, turnRad + twistRad, arborMm),
  };
}

/** A camera that is as good as known: what it leaves open is far below what edges leave open. */
const stillCamera: CameraSeen = {
  widthPx: 4000,
  heightPx: 3000,
  shared: (["lnF", "lnAspect", "cx", "cy", "k1", "k2", "p1", "p2", "sx", "sy"] as const).map((name) => ({
    name,
    value: 0,
    estimate: 0,
    u: 1e-3,
  })),
  covariance: Float64Array.from({ length: 15 * 15 }, (_, i) => (i % 16 === 0 ? 1e-8 : 0)),
  widenedBy: 1,
};

/** An arbor of 1.2 mm with leaves out to 2.2 mm, edges as soft as a lens makes them. */
function star(leaves: number, turnRad: number, [x0, y0]: readonly [number, number]): HubPicture {
  const size = 121;
  const stepMm = 0.1;
  const bare = new Float32Array(size * size);
  for (let j = 0; j < size; j++) {
    for (let i = 0; i < size; i++) {
      const x = (i - 60) * stepMm - x0;
      const y = (j - 60) * stepMm - y0;
      const r = Math.hypot(x, y);
      const wave = leaves === 0 ? 0 : Math.max(0, Math.cos(leaves * (Math.atan2(y, x) - turnRad)));
      const edge = 1.2 + 1 * Math.min(1, 1.6 * wave);
      bare[j * size + i] = 1 / (1 + Math.exp((r - edge) / 0.2));
    }
  }
  return { size, stepMm, light: new Uint8Array(size * size), bare };
}

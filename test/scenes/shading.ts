import { faceTexture, textureAt } from "./face-texture.js";
import type { FaceTexture } from "./face-texture.js";
import { groundCode } from "./ground.js";
import type { GroundSurface } from "./ground.js";
import type { NoiseField } from "./noise-field.js";
import type { Light, Metal } from "./scene.js";
import { shadowAt, shadowMap } from "./shadow-map.js";
import type { ShadowMap } from "./shadow-map.js";
import type { Solid } from "./solids.js";
import { rotated } from "./solids.js";

/** Where a ray ended. `kind`: 0 ground, 1 top, 2 bevel, 3 wall. Filled in place, never allocated per ray. */
export interface Hit {
  kind: number;
  solid: number;
  groundCode: number;
  /** Ray parameter. */
  along: number;
  /** Ground: mat x, y. Solid: own frame. */
  x: number;
  y: number;
  z: number;
  /** Outward horizontal normal in the solid's own frame (bevel and wall). */
  nx: number;
  ny: number;
}

/** Linear reflection at normal incidence, roughly as metals look under mixed room light. */
const metalColour: Record<Metal, readonly [number, number, number]> = {
  brass: [0.78, 0.58, 0.25],
  "patinated-brass": [0.36, 0.27, 0.13],
  steel: [0.5, 0.51, 0.52],
  "blued-steel": [0.09, 0.12, 0.25],
  nickel: [0.62, 0.6, 0.55],
  copper: [0.75, 0.42, 0.26],
};

export interface Shader {
  /** Linear colour of a hit into `out`; (dx, dy, dz) is the ray's direction, the camera at (cx, cy, cz). */
  shade(hit: Hit, dx: number, dy: number, dz: number, out: Float64Array): void;
}

/** @param pxPerMm roughly, at the sheet: shadows and scratches need be no finer. */
export function shaderFor(
  solids: readonly Solid[],
  ground: GroundSurface,
  light: Light,
  camera: readonly [number, number, number],
  pxPerMm: number,
  noise: NoiseField,
  seed: number,
  tagPrint: (solid: Solid, x: number, y: number) => number | undefined,
): Shader {
  const [cx, cy, cz] = camera;
  const parts = [...new Set(solids.map((s) => s.partIndex))];
  const groups = parts.map((p) => solids.filter((s) => s.partIndex === p));
  const cellMm = Math.min(0.4, Math.max(0.07, 0.7 / pxPerMm));
  const onGround = groups.length > 0 && !ground.shining ? shadowMap(groups, light, 0, cellMm) : undefined;
  // What stands on a face throws a shadow on it.
  const onFace = solids.map((solid): ShadowMap | undefined => {
    if (solid.role !== "face" || ground.shining) return undefined;
    const standing = solids.filter((s) => s.partIndex === solid.partIndex && s !== solid && s.topMm > 0);
    return standing.length > 0 ? shadowMap([standing], light, solid.originMm[2], cellMm) : undefined;
  });
  const textures = solids.map((solid, i): FaceTexture | undefined =>
    faceTexture(solid, 0.5 / pxPerMm, seed + 31 * i),
  );
  const normals = solids.map((s) => rotated(s.rotation, [0, 0, 1]));
  const [lx, ly, lz] = light.atMm;
  const lampHeight2 = lx * lx + ly * ly + lz * lz;
  // A few soft lights and dark patches around, mirrored by polished faces.
  const sky = Array.from({ length: 5 }, (_, i) => ({
    x: 0.8 * noise.along((seed % 997) + 11 * i),
    y: 0.8 * noise.along((seed % 997) + 11 * i + 3),
    amount: i % 2 === 0 ? 0.5 : -0.3,
    width: 0.18 + 0.12 * (1 + noise.along((seed % 997) + 11 * i + 6)),
  }));
  const environment = (rx: number, ry: number): number => {
    let e = 0.62;
    for (const s of sky)
      e += s.amount * Math.exp(-((rx - s.x) ** 2 + (ry - s.y) ** 2) / (2 * s.width * s.width));
    return e;
  };
  const albedo = new Float64Array(3);

  const shadeGround = (hit: Hit, out: Float64Array): void => {
    const { x, y } = hit;
    ground.albedoAt(hit.groundCode, x, y, albedo);
    let level = 1;
    if (!ground.shining) {
      const px = x - lx;
      const py = y - ly;
      const d2 = px * px + py * py + lz * lz;
      const fall = (lampHeight2 / d2) ** 1.5;
      const lampLight = onGround ? shadowAt(onGround, onGround.lamp, x, y) : 1;
      const open = onGround ? shadowAt(onGround, onGround.around, x, y) : 1;
      level = (1 - light.ambient) * fall * lampLight + light.ambient * open;
      level *= 1 + (light.gradient[0] * x + light.gradient[1] * y) / 100;
      level = Math.max(0.01, level);
    }
    out[0] = albedo[0]! * level;
    out[1] = albedo[1]! * level;
    out[2] = albedo[2]! * level;
    // Toner shines a little.
    if ((hit.groundCode === groundCode.ink || hit.groundCode === groundCode.words) && light.glare > 4) {
      out[0] += 0.002 * light.glare * level;
      out[1] += 0.002 * light.glare * level;
      out[2] += 0.002 * light.glare * level;
    }
  };

  return {
    shade(hit, dx, dy, dz, out) {
      if (hit.kind === 0) {
        shadeGround(hit, out);
        return;
      }
      const i = hit.solid;
      const solid = solids[i]!;
      const r = solid.rotation;
      const up = normals[i]!;
      let nx = up[0];
      let ny = up[1];
      let nz = up[2];
      if (hit.kind !== 1) {
        const hx = r[0]! * hit.nx + r[1]! * hit.ny;
        const hy = r[3]! * hit.nx + r[4]! * hit.ny;
        const hz = r[6]! * hit.nx + r[7]! * hit.ny;
        const a = hit.kind === 2 ? Math.SQRT1_2 : 1;
        const b = hit.kind === 2 ? Math.SQRT1_2 : 0;
        nx = a * hx + b * nx;
        ny = a * hy + b * ny;
        nz = a * hz + b * nz;
      }
      const px = cx + hit.along * dx;
      const py = cy + hit.along * dy;
      const pz = cz + hit.along * dz;
      const viewLength = Math.sqrt(dx * dx + dy * dy + dz * dz);
      const vx = -dx / viewLength;
      const vy = -dy / viewLength;
      const vz = -dz / viewLength;
      let sx = lx - px;
      let sy = ly - py;
      let sz = lz - pz;
      const lampDistance2 = sx * sx + sy * sy + sz * sz;
      const lampDistance = Math.sqrt(lampDistance2);
      sx /= lampDistance;
      sy /= lampDistance;
      sz /= lampDistance;
      const nl = Math.max(0, nx * sx + ny * sy + nz * sz);
      let lampLight =
        (1 - light.ambient) * nl * (lampHeight2 / lampDistance2) * (Math.sqrt(lampHeight2) / lz);
      let around = light.ambient;
      const faceMap = onFace[i];
      if (hit.kind === 1 && faceMap) {
        lampLight *= shadowAt(faceMap, faceMap.lamp, px, py);
        around *= 0.4 + 0.6 * shadowAt(faceMap, faceMap.around, px, py);
      }
      const even = 1 + (light.gradient[0] * px + light.gradient[1] * py) / 100;
      if (ground.shining) {
        lampLight = 0.02;
        around = 0.06;
      }
      const printed = solid.role === "card" ? tagPrint(solid, hit.x, hit.y) : undefined;
      if (solid.role === "card" || solid.role === "skin") {
        const tone = 1 + 0.05 * noise.cloud(hit.x / 3, hit.y / 3);
        const level = (lampLight + around * (hit.kind === 3 ? 0.7 : 1)) * even * tone;
        const skin = solid.role === "skin";
        const white = printed ?? 0.86;
        out[0] = level * (skin ? 0.5 : white);
        out[1] = level * (skin ? 0.27 : white * 0.99);
        out[2] = level * (skin ? 0.18 : white * 0.97);
        return;
      }
      const look = solid.look;
      const colour = metalColour[look.metal];
      const nv = nx * vx + ny * vy + nz * vz;
      const rx = 2 * nv * nx - vx;
      const ry = 2 * nv * ny - vy;
      const rz = 2 * nv * nz - vz;
      // Mirror direction against the lamp.
      const cosLamp = rx * sx + ry * sy + rz * sz;
      const polished = look.finish === "polished" ? 1 : look.finish === "matt" ? 0 : 0.45;
      let metal: number;
      let white = 0;
      if (hit.kind === 1) {
        let texture = 1;
        let fan = 0;
        const radius = Math.sqrt(hit.x * hit.x + hit.y * hit.y);
        if (look.finish === "turned" || look.finish === "brushed") {
          // Grooves run round the centre, or all one way.
          const turned = look.finish === "turned";
          const gx = turned ? -hit.y / (radius + 1e-6) : 1;
          const gy = turned ? hit.x / (radius + 1e-6) : 0;
          const tx = r[0]! * gx + r[1]! * gy;
          const ty = r[3]! * gx + r[4]! * gy;
          const tz = r[6]! * gx + r[7]! * gy;
          const halfDot = tx * (sx + vx) + ty * (sy + vy) + tz * (sz + vz);
          fan = Math.exp(-(halfDot * halfDot) / 0.045);
          const across = turned ? radius : hit.y;
          texture +=
            0.1 * noise.along(across * 21 + 100) +
            0.07 * noise.along(across * 6.3) +
            0.05 * noise.along(across * 1.7);
        } else {
          texture += 0.03 * noise.cloud(hit.x * 2, hit.y * 2);
        }
        const blot = noise.cloud(hit.x / 5 + 40 * i, hit.y / 5) + 0.4 * noise.at(hit.x * 1.1, hit.y * 1.1);
        texture *= 1 - look.mottling * (0.25 + 0.45 * blot);
        const map = textures[i];
        if (map) texture *= textureAt(map, hit.x, hit.y);
        if (solid.role === "coin")
          texture *= coinRelief(radius / solid.region.maxX, Math.atan2(hit.y, hit.x), noise, hit.x, hit.y);
        if (solid.role === "screw" && Math.abs(hit.y) < 0.13 * solid.region.maxX) texture *= 0.25;
        texture = Math.max(0.12, texture);
        const mirror = environment(rx, ry);
        metal =
          texture *
          (lampLight * (0.5 + 0.75 * fan * (1 - polished * 0.3)) +
            around * (0.35 + (0.5 + 0.5 * polished) * mirror));
        const width = look.finish === "polished" ? 0.006 : look.finish === "matt" ? 0.06 : 0.02;
        const patina = look.metal === "patinated-brass" ? 0.4 : 1;
        const spot =
          light.glare * Math.exp(-(1 - cosLamp) / width) * (look.finish === "polished" ? 1 : 0.4) * patina;
        metal += 0.8 * spot * texture * (lampLight > 0 ? 1 : 0);
        white = 0.2 * spot;
      } else if (hit.kind === 2) {
        const spark = Math.exp(-(1 - cosLamp) / 0.08);
        metal = lampLight * (0.5 + 2.2 * spark) + around * (0.4 + 0.6 * environment(rx, ry));
      } else {
        // Walls mirror the sheet around them, darker low down, and the lamp in a line on round bodies.
        const spark = Math.exp(-(1 - cosLamp) / 0.05);
        const height = solid.topMm - solid.bottomMm;
        const low = Math.min(1, (hit.z - solid.bottomMm + 0.3) / Math.min(height + 0.3, 3));
        metal =
          (lampLight * (0.45 + 1.6 * spark) + around * 0.5 * (0.6 + environment(rx, ry) * 0.6)) *
          (0.45 + 0.55 * low);
        metal *= 1 + 0.12 * noise.along(hit.z * 9 + 500);
      }
      metal *= even;
      out[0] = colour[0] * metal + white;
      out[1] = colour[1] * metal + white;
      out[2] = colour[2] * metal + white;
    },
  };
}

/** Raised rim, a ring of "letters", a blot for the head. */
function coinRelief(share: number, angle: number, noise: NoiseField, x: number, y: number): number {
  if (share > 0.9) return 1.1;
  if (share > 0.72 && share < 0.84) return 1 + 0.35 * noise.at(angle * 14, share * 30);
  if (share < 0.55) return 1 + 0.3 * noise.cloud(x / 2.5, y / 2.5);
  return 1;
}

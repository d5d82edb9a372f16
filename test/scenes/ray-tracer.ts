import type { GroundSurface } from "./ground.js";
import { cameraPosition, project } from "./scene-camera.js";
import type { SceneCamera, ScenePose } from "./scene.js";
import type { Hit } from "./shading.js";
import type { Solid } from "./solids.js";

export const tilePx = 16;

export interface RayTracer {
  /** Bodies that a ray through this tile may meet. */
  candidates(tileX: number, tileY: number): Int32Array;
  /**
   * Nearest surface along the ray from the camera in direction (dx, dy, dz), into `hit`.
   * Exact: tops and bevels by signed distance, walls by the first edge that the ray's shadow line crosses.
   */
  trace(dx: number, dy: number, dz: number, candidates: Int32Array, hit: Hit): void;
}

export function rayTracer(
  solids: readonly Solid[],
  ground: GroundSurface,
  camera: SceneCamera,
  pose: ScenePose,
  widthPx: number,
  heightPx: number,
): RayTracer {
  const [cx, cy, cz] = cameraPosition(pose);
  // The camera in every body's own frame.
  const eyes = solids.map((s) => {
    const v = [cx - s.originMm[0], cy - s.originMm[1], cz - s.originMm[2]] as const;
    const r = s.rotation;
    return [
      r[0]! * v[0] + r[3]! * v[1] + r[6]! * v[2],
      r[1]! * v[0] + r[4]! * v[1] + r[7]! * v[2],
      r[2]! * v[0] + r[5]! * v[1] + r[8]! * v[2],
    ] as const;
  });
  const tilesX = Math.ceil(widthPx / tilePx);
  const tilesY = Math.ceil(heightPx / tilePx);
  const lists: number[][] = Array.from({ length: tilesX * tilesY }, () => []);
  solids.forEach((solid, i) => {
    const [u0, v0, u1, v1] = screenBox(solid, camera, pose);
    for (
      let ty = Math.max(0, Math.floor(v0 / tilePx));
      ty <= Math.min(tilesY - 1, Math.floor(v1 / tilePx));
      ty++
    )
      for (
        let tx = Math.max(0, Math.floor(u0 / tilePx));
        tx <= Math.min(tilesX - 1, Math.floor(u1 / tilePx));
        tx++
      )
        lists[ty * tilesX + tx]!.push(i);
  });
  const arrays = lists.map((list) => Int32Array.from(list));

  return {
    candidates: (tileX, tileY) => arrays[tileY * tilesX + tileX]!,
    trace(dx, dy, dz, candidates, hit) {
      // The sheet first.
      let along = -cz / dz;
      if (ground.bowed) {
        for (let k = 0; k < 4; k++) along = (ground.heightAt(cx + along * dx, cy + along * dy) - cz) / dz;
      }
      hit.kind = 0;
      hit.solid = -1;
      hit.along = along;
      hit.x = cx + along * dx;
      hit.y = cy + along * dy;
      hit.z = 0;
      for (let q = 0; q < candidates.length; q++) {
        const i = candidates[q]!;
        const solid = solids[i]!;
        const r = solid.rotation;
        const eye = eyes[i]!;
        const lz = r[2]! * dx + r[5]! * dy + r[8]! * dz;
        if (lz >= 0) continue;
        const sx = -(r[0]! * dx + r[3]! * dy + r[6]! * dz) / lz;
        const sy = -(r[1]! * dx + r[4]! * dy + r[7]! * dz) / lz;
        // At height z of the body's frame the ray is at eye + (sx, sy) (eye_z - z).
        const { region, topMm, bottomMm, bevelMm } = solid;
        const topX = eye[0] + sx * (eye[2] - topMm);
        const topY = eye[1] + sy * (eye[2] - topMm);
        const footX = eye[0] + sx * (eye[2] - bottomMm);
        const footY = eye[1] + sy * (eye[2] - bottomMm);
        if (
          (topX < region.minX && footX < region.minX) ||
          (topX > region.maxX && footX > region.maxX) ||
          (topY < region.minY && footY < region.minY) ||
          (topY > region.maxY && footY > region.maxY)
        )
          continue;
        let kind = 0;
        let z = topMm;
        let x = topX;
        let y = topY;
        if (bevelMm > 0) {
          const d = region.signedDistance(topX, topY);
          if (d >= bevelMm) kind = 1;
          else {
            const wideX = topX + sx * bevelMm;
            const wideY = topY + sy * bevelMm;
            const e = region.signedDistance(wideX, wideY);
            if (e >= 0) {
              // In between the ray goes through the slope: linear in height to good accuracy.
              kind = 2;
              const over = bevelMm - Math.max(-bevelMm, d);
              const share = over / (over + e);
              z = topMm - share * bevelMm;
              x = topX + sx * share * bevelMm;
              y = topY + sy * share * bevelMm;
            } else {
              const share = region.firstCrossing(wideX, wideY, footX, footY);
              if (share >= 0) {
                kind = 3;
                z = topMm - bevelMm + share * (bottomMm - topMm + bevelMm);
                x = wideX + share * (footX - wideX);
                y = wideY + share * (footY - wideY);
              }
            }
          }
        } else if (region.isInside(topX, topY)) kind = 1;
        else {
          const share = region.firstCrossing(topX, topY, footX, footY);
          if (share >= 0) {
            kind = 3;
            z = topMm + share * (bottomMm - topMm);
            x = topX + share * (footX - topX);
            y = topY + share * (footY - topY);
          }
        }
        if (kind === 0) continue;
        const reached = (z - eye[2]) / lz;
        if (reached >= hit.along) continue;
        hit.along = reached;
        hit.kind = kind;
        hit.solid = i;
        hit.x = x;
        hit.y = y;
        hit.z = z;
        hit.nx = region.edgeNormal[0]!;
        hit.ny = region.edgeNormal[1]!;
      }
      if (hit.kind === 0) hit.groundCode = ground.codeAt(hit.x, hit.y);
    },
  };
}

function screenBox(solid: Solid, camera: SceneCamera, pose: ScenePose): [number, number, number, number] {
  const { minX, minY, maxX, maxY } = solid.region;
  const r = solid.rotation;
  let box: [number, number, number, number] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const z of [solid.bottomMm, solid.topMm])
    for (const x of [minX, (minX + maxX) / 2, maxX])
      for (const y of [minY, (minY + maxY) / 2, maxY]) {
        const [u, v] = project(camera, pose, [
          solid.originMm[0] + r[0]! * x + r[1]! * y + r[2]! * z,
          solid.originMm[1] + r[3]! * x + r[4]! * y + r[5]! * z,
          solid.originMm[2] + r[6]! * x + r[7]! * y + r[8]! * z,
        ]);
        box = [Math.min(box[0], u), Math.min(box[1], v), Math.max(box[2], u), Math.max(box[3], v)];
      }
  // Distortion bends the sides of the box outwards a little.
  const margin = 3 + 0.01 * Math.max(box[2] - box[0], box[3] - box[1]);
  return [box[0] - margin, box[1] - margin, box[2] + margin, box[3] + margin];
}

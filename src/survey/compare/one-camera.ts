import type { CameraSeen, CentreTerm, WheelMarks } from "../../parts/index.js";
import { choleskyFactor, invertSymmetric } from "../../fit/index.js";
import type { InputId } from "../../quantity/index.js";
import type { WheelPhoto } from "../set-photo.js";

/**
 * How far camera and sheet may change from one photograph to the next: focusing changes the focal length by a few
 * thousandths and the lens a little, a lens that steadies the picture moves sideways. Common practice, no source.
 */
const wander: Readonly<Record<CameraSeen["shared"][number]["name"], number>> = {
  lnF: 0.004,
  lnAspect: 1e-6,
  cx: 0.001,
  cy: 0.001,
  k1: 0.002,
  k2: 0.004,
  p1: 1e-5,
  p2: 1e-5,
  sx: 1e-7,
  sy: 1e-7,
};
/** Of a camera held another way, these are not the same in upright pictures. */
const turnsWithCamera: readonly string[] = ["lnAspect", "cx", "cy", "p1", "p2"];
/** Shared values that lie further apart belong to another camera, another zoom or another sheet; in standard uncertainties. */
const mostApart = 4;
/** Centre x, y and the camera's x, y, z follow the shared unknowns in what a photograph says. */
const ownCount = 5;

/**
 * Photographs of one set are taken by one camera over one sheet. One that looks straight down tells its focal length
 * and the middle of its lens poorly, and with them where it stood; together they know it better, and what is left of
 * the error is nearly the same in all of them.
 *
 * Every photograph alone is a normal density over the shared unknowns and its own five numbers. What was believed
 * beforehand is in each of them, and is taken out of all but one.
 *
 * @returns the same photographs with centre, camera and their terms as all together give them; unchanged if they are
 *   of different cameras.
 */
export function asOneCamera(photos: readonly WheelPhoto[]): WheelPhoto[] {
  const seen = photos.map(({ marks }) => marks.camera);
  const [first] = seen;
  if (first === undefined || photos.length < 2) return [...photos];
  const sameSize = seen.every(
    (c) => Math.max(c.widthPx, c.heightPx) === Math.max(first.widthPx, first.heightPx),
  );
  if (!sameSize) return [...photos];
  const joint = solveTogether(seen);
  if (joint === undefined) return [...photos];
  return photos.map((photo, k) => ({ ...photo, marks: moved(photo.marks, k, joint) }));
}

interface Together {
  /** Of every photograph: by how much its own five numbers move. */
  readonly moves: readonly Float64Array[];
  /** Independent inputs: what one standard uncertainty of each does to the own numbers of all photographs in a row. */
  readonly inputs: readonly { readonly id: InputId; readonly effect: Float64Array }[];
}

function solveTogether(seen: readonly CameraSeen[]): Together | undefined {
  const [first] = seen as [CameraSeen];
  const s = first.shared.length;
  const d = s + ownCount;
  const n = s + seen.length * d;
  const information = new Float64Array(n * n);
  const vector = new Float64Array(n);
  const add = (i: number, j: number, v: number): void => {
    information[i * n + j]! += v;
  };
  // Counted from the first photograph's values: the vector stays small, and so does rounding.
  const from = first.shared.map(({ value }) => value);
  for (let i = 0; i < s; i++) {
    const { estimate, u } = first.shared[i]!;
    add(i, i, u ** -2);
    vector[i]! += (estimate - from[i]!) * u ** -2;
  }
  for (const [k, camera] of seen.entries()) {
    const own = invertSymmetric(camera.covariance, d);
    if (own === undefined) return undefined;
    const at = s + k * d;
    for (let i = 0; i < d; i++) {
      for (let j = 0; j < d; j++) {
        const offset = j < s ? camera.shared[j]!.value - from[j]! : 0;
        add(at + i, at + j, own[i * d + j]! / camera.widenedBy);
        vector[at + i]! += (own[i * d + j]! * offset) / camera.widenedBy;
      }
    }
    const isTurned = orientationOf(camera) !== orientationOf(first);
    for (let i = 0; i < s; i++) {
      const { name, estimate, u } = camera.shared[i]!;
      const believed = u ** -2 / camera.widenedBy;
      add(at + i, at + i, -believed);
      vector[at + i]! -= believed * (estimate - from[i]!);
      const apart = isTurned && turnsWithCamera.includes(name) ? 10 * u : wanderOf(name, camera);
      const tie = apart ** -2;
      add(at + i, at + i, tie);
      add(i, i, tie);
      add(at + i, i, -tie);
      add(i, at + i, -tie);
    }
  }
  const scale = Float64Array.from({ length: n }, (_, i) => Math.sqrt(information[i * n + i]!));
  const scaled = information.map((v, k) => v / (scale[Math.floor(k / n)]! * scale[k % n]!));
  const covariance = invertSymmetric(scaled, n)?.map(
    (v, k) => v / (scale[Math.floor(k / n)]! * scale[k % n]!),
  );
  if (covariance === undefined) return undefined;
  const solution = new Float64Array(n);
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) solution[i]! += covariance[i * n + j]! * vector[j]!;
  const agree = seen.every((camera, k) =>
    camera.shared.every(({ value }, i) => {
      const off = solution[s + k * d + i]! - (value - from[i]!);
      return Math.abs(off) <= mostApart * Math.sqrt(camera.widenedBy * camera.covariance[i * (d + 1)]!);
    }),
  );
  if (!agree) return undefined;
  const inputs = inputsOf(covariance, n, first, seen.length);
  if (inputs === undefined) return undefined;
  return {
    moves: seen.map((_, k) => solution.slice(s + k * d + s, s + (k + 1) * d)),
    inputs,
  };
}

const wanderOf = (name: CameraSeen["shared"][number]["name"], { widthPx, heightPx }: CameraSeen): number =>
  wander[name] * (name === "cx" || name === "cy" ? Math.max(widthPx, heightPx) : 1);

const orientationOf = ({ widthPx, heightPx, orientation = 0 }: CameraSeen): string =>
  `${widthPx > heightPx} ${orientation}`;

/** The print scale's columns come first, so that what is due to it keeps its name. */
function inputsOf(
  covariance: Float64Array,
  n: number,
  first: CameraSeen,
  photos: number,
): Together["inputs"] | undefined {
  const s = first.shared.length;
  const d = s + ownCount;
  const scales = (["sx", "sy"] as const).map((name) => first.shared.findIndex((u) => u.name === name));
  const order = [
    ...scales,
    ...Array.from({ length: photos }, (_, k) =>
      Array.from({ length: ownCount }, (_, i) => s + k * d + s + i),
    ).flat(),
  ];
  const m = order.length;
  const u = order.map((i) => Math.sqrt(covariance[i * (n + 1)]!));
  const part = new Float64Array(m * m);
  for (let a = 0; a < m; a++)
    for (let b = 0; b < m; b++) part[a * m + b] = covariance[order[a]! * n + order[b]!]! / (u[a]! * u[b]!);
  // Photographs from a stand say nearly the same: a little of each is its own.
  for (let a = 0; a < m; a++) part[a * (m + 1)]! *= 1 + 1e-9;
  const factor = choleskyFactor(part, m);
  if (factor === undefined) return undefined;
  const ids: InputId[] = ["scale:mat-across", "scale:mat-along"];
  return Array.from({ length: m }, (_, c) => ({
    id: ids[c] ?? (`pose:together-${c - 1}` as const),
    effect: Float64Array.from({ length: m - 2 }, (_, r) => factor[(r + 2) * m + c]! * u[r + 2]!),
  }));
}

function moved(marks: WheelMarks, k: number, { moves, inputs }: Together): WheelMarks {
  const [dx, dy, cx, cy, cz] = moves[k] as unknown as [number, number, number, number, number];
  const { centreMm, cameraMm, centreTerms } = marks;
  const terms = inputs.flatMap(({ id, effect }): CentreTerm[] => {
    const [x, y, a, b, c] = effect.subarray(ownCount * k, ownCount * (k + 1));
    return x === 0 && y === 0 && a === 0 && b === 0 && c === 0
      ? []
      : [{ id, dxMm: x!, dyMm: y!, cameraMm: [a!, b!, c!] }];
  });
  return {
    ...marks,
    centreMm: [centreMm[0] + dx, centreMm[1] + dy],
    cameraMm: [cameraMm[0] + cx, cameraMm[1] + cy, cameraMm[2] + cz],
    // How far the wheel presses a bowed sheet down is no part of the camera.
    centreTerms: [...terms, ...centreTerms.filter(({ id }) => id.startsWith("pose:bow"))],
  };
}

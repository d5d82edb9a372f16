import { createRequire } from "node:module";

interface Mat {
  readonly rows: number;
  readonly data: Uint8Array;
  readonly data32S: Int32Array;
  delete(): void;
}
interface MatVector {
  size(): number;
  get(i: number): Mat;
  delete(): void;
}
export interface OpenCv {
  Mat: new (rows?: number, cols?: number, type?: number) => Mat;
  MatVector: new () => MatVector;
  Size: new (width: number, height: number) => object;
  readonly CV_8UC1: number;
  readonly MORPH_ELLIPSE: number;
  readonly MORPH_CLOSE: number;
  readonly RETR_EXTERNAL: number;
  readonly CHAIN_APPROX_NONE: number;
  getStructuringElement(shape: number, size: object): Mat;
  morphologyEx(from: Mat, to: Mat, operation: number, kernel: Mat): void;
  findContours(mask: Mat, out: MatVector, hierarchy: Mat, mode: number, method: number): void;
  convexHull(points: Mat, hull: Mat, clockwise: boolean, returnPoints: boolean): void;
  boundingRect(points: Mat): {
    readonly x: number;
    readonly y: number;
    readonly width: number;
    readonly height: number;
  };
  contourArea(points: Mat): number;
}

/**
 * OpenCV as WebAssembly; the first call takes about 0.2 s. Loaded through require, because the types that the package
 * ships do not compile as a module.
 */
export function loadOpenCv(): OpenCv {
  const require = createRequire(import.meta.url);
  // The package hooks into the whole process, and would turn any error elsewhere into its own abort.
  const events = ["uncaughtException", "unhandledRejection"] as const;
  const before = events.map((event) => new Set(process.rawListeners(event)));
  const { cv } = require("opencv-wasm") as { readonly cv: OpenCv };
  events.forEach((event, i) => {
    for (const listener of process.rawListeners(event)) {
      if (!before[i]!.has(listener)) process.removeListener(event, listener as (...args: unknown[]) => void);
    }
  });
  return cv;
}

/** The little of opencv-wasm that is used here; the types it ships do not compile as a module. */
declare module "opencv-wasm" {
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
  export const cv: {
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
  };
}

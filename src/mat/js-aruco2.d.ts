/** The parts of js-aruco2 2.0 that are used here; the package carries no types. */
declare module "js-aruco2" {
  interface ArucoDictionary {
    /** One string of "0" (black) and "1" (white) per id, the rows inside the border joined from the top. */
    readonly codeList: readonly string[];
    readonly nBits: number;
    readonly tau: number;
    /** @param bits the rows inside the black border: 1 = white, 0 = black. Nearest code nearer than `tau`. */
    find(bits: readonly (readonly (0 | 1)[])[]): { id: number; distance: number } | undefined;
  }
  const aruco: {
    readonly AR: {
      readonly DICTIONARIES: Record<string, unknown>;
      readonly Dictionary: new (name: string) => ArucoDictionary;
    };
  };
  export default aruco;
}

/** Adds "APRILTAG_36h11" to AR.DICTIONARIES. */
declare module "js-aruco2/src/dictionaries/apriltag_36h11.js";

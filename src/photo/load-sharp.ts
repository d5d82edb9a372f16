import { createRequire } from "node:module";
import type Sharp from "sharp";

const require = createRequire(import.meta.url);

/**
 * The picture library, loaded when it is first needed. As CommonJS, which it is inside: imported, Node first searches
 * every file of it for names, which takes as long again.
 */
export const loadSharp = (): typeof Sharp => require("sharp") as typeof Sharp;

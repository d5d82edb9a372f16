import type { Photo } from "../../photo/index.js";
import type { PhotoRecord } from "../../record/index.js";
import type { Extremes } from "./extremes.js";
import { rasterOf, rasterSize, type FaceRaster } from "./face-raster.js";
import { layOver, reachOf, type LaidOver } from "./lay-over.js";

/**
 * Gathers the views of the face while the photographs of a report are opened one after the other, and lays two over
 * each other as soon as both have been seen: no more is held than sets are open.
 */
export class LaidOverSets {
  readonly #sets: readonly (Extremes | undefined)[];
  readonly #photos: readonly PhotoRecord[];
  readonly #rasters = new Map<string, FaceRaster>();
  readonly #made = new Map<number, LaidOver>();

  constructor(sets: readonly (Extremes | undefined)[], photos: readonly PhotoRecord[]) {
    this.#sets = sets;
    this.#photos = photos;
  }

  /** Sets that have two photographs to be laid over each other. */
  get count(): number {
    return this.#sets.filter((set) => set !== undefined).length;
  }

  /** @param bytes that the picture of a set may take. */
  async look(photoIndex: number, photo: Photo, bytes: number): Promise<void> {
    const { view } = this.#photos[photoIndex]!;
    if (view === undefined) return;
    for (const [i, set] of this.#sets.entries()) {
      if (set === undefined) continue;
      const which = set.places.findIndex((place) => place.photoIndex === photoIndex);
      const place = set.places[which];
      if (place === undefined) continue;
      const firstView = this.#photos[set.places[0].photoIndex]?.view ?? view;
      const halfMm = reachOf(set);
      const size = rasterSize(firstView, set.places[0], halfMm);
      this.#rasters.set(`${i}-${which}`, rasterOf(photo, view, place, halfMm, size));
      const [first, second] = [this.#rasters.get(`${i}-0`), this.#rasters.get(`${i}-1`)];
      if (first === undefined || second === undefined) continue;
      this.#made.set(i, await layOver(set, first, second, bytes));
      this.#rasters.delete(`${i}-0`);
      this.#rasters.delete(`${i}-1`);
    }
  }

  /** Undefined for a set in which no movement was measured. */
  of(setIndex: number): LaidOver | { readonly missing: readonly string[] } | undefined {
    const set = this.#sets[setIndex];
    if (set === undefined) return undefined;
    return (
      this.#made.get(setIndex) ?? {
        missing: set.files.filter((_, which) => !this.#rasters.has(`${setIndex}-${which}`)),
      }
    );
  }
}

import type { PartSummary, PhotoSummary } from "../../wire.js";

/** A part as one photograph shows it. */
export interface Sighting {
  readonly photo: string;
  readonly sha256: string | undefined;
  readonly size: readonly [number, number] | undefined;
  readonly part: PartSummary;
}

export const sightingsOf = (photos: readonly PhotoSummary[]): readonly Sighting[] =>
  photos.flatMap(({ name, sha256, parts, state, widthPx, heightPx }): Sighting[] =>
    state === "left out"
      ? []
      : parts.map((part) => ({
          photo: name,
          sha256,
          size: widthPx === undefined || heightPx === undefined ? undefined : [widthPx, heightPx],
          part,
        })),
  );

/** Says that a part goes to a place. */
export type PutPart = (photo: string, part: string, label: string) => void;

const dragType = "application/x-wheelsurvey-part";

export const dragsPart = (event: DragEvent): boolean => event.dataTransfer?.types.includes(dragType) ?? false;

export function startDrag(event: DragEvent, { photo, part }: Sighting): void {
  if (!event.dataTransfer) return;
  event.dataTransfer.setData(dragType, JSON.stringify([photo, part.id]));
  event.dataTransfer.effectAllowed = "move";
}

export function dropPart(event: DragEvent, take: (photo: string, part: string) => void): void {
  const text = event.dataTransfer?.getData(dragType);
  if (!text) return;
  event.preventDefault();
  event.stopPropagation();
  const [photo, part] = JSON.parse(text) as [string, string];
  take(photo, part);
}

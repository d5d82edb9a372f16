import {
  correctionOf,
  isByHand,
  meansPart,
  withoutKeys,
  type CorrectionsRecord,
  type PartCorrection,
  type PhotoCorrection,
  type PhotoRecord,
} from "../../record/index.js";
import type { Change } from "../wire.js";
import { PageError } from "./page-error.js";

type PhotoChange = Extract<
  Change,
  { kind: "photo" | "part" | "tooth" | "new part" | "as measured" | "face height" }
>;

/** The photograph that a change is about: as measured, where it has been. */
export interface ChangedPhoto {
  readonly name: string;
  readonly sha256: string;
  readonly record: PhotoRecord | undefined;
}

/** Corrections after a change. @throws PageError if it is about something that is not there. */
export function withChange(
  corrections: CorrectionsRecord,
  change: PhotoChange,
  photo: ChangedPhoto,
): CorrectionsRecord {
  const before: PhotoCorrection = correctionOf(corrections, photo.sha256) ?? {
    file: photo.name,
    sha256: photo.sha256,
    parts: [],
  };
  const after = changed({ ...before, file: photo.name }, change, photo);
  const others = corrections.photos.filter(({ sha256 }) => sha256 !== photo.sha256);
  const empty = !after.left_out && (after.face_heights ?? []).length === 0 && after.parts.length === 0;
  const photos = empty ? others : [...others, after];
  return {
    ...corrections,
    photos: [...photos].sort((a, b) => (a.file < b.file ? -1 : a.file > b.file ? 1 : 0)),
  };
}

function changed(before: PhotoCorrection, change: PhotoChange, photo: ChangedPhoto): PhotoCorrection {
  switch (change.kind) {
    case "photo": {
      const rest = withoutKeys(before, "left_out", "reason");
      if (!change.leftOut) return rest;
      const reason = change.reason?.trim();
      return { ...rest, left_out: true, ...(reason ? { reason } : {}) };
    }
    case "face height": {
      const others = (before.face_heights ?? []).filter(({ label }) => label !== change.label);
      const own =
        change.mm === null
          ? []
          : [{ ...(change.label === undefined ? {} : { label: change.label }), mm: change.mm }];
      const rest = withoutKeys(before, "face_heights");
      const all = [...others, ...own];
      return all.length === 0 ? rest : { ...rest, face_heights: all };
    }
    case "new part": {
      const numbers = before.parts
        .filter(({ part }) => isByHand(part))
        .map(({ part }) => Number(part.slice(5)));
      const id = `hand-${Math.max(0, ...numbers) + 1}`;
      const circle = {
        centre_px: change.centrePx,
        tip_radius_px: change.tipRadiusPx,
        within_px: change.withinPx,
      };
      return { ...before, parts: [...before.parts, { part: id, at_px: change.centrePx, circle }] };
    }
    case "as measured":
      return { ...before, parts: before.parts.filter(({ part }) => part !== change.part) };
    case "part":
      return withPart(before, change.part, photo, (part) => {
        const { kind, label, toothCount, circle, leftOut, remark } = change.set;
        let now = part;
        if (kind !== undefined) now = put(now, "kind", kind ?? undefined);
        if (label !== undefined) now = put(now, "label", label === null ? undefined : plainLabel(label));
        if (toothCount !== undefined) now = put(now, "tooth_count", toothCount ?? undefined);
        if (circle !== undefined) now = put(now, "circle", circle ?? undefined);
        if (leftOut !== undefined) now = put(now, "left_out", leftOut ? true : undefined);
        if (remark !== undefined)
          now = put(now, "remark", remark === null || remark.trim() === "" ? undefined : remark.trim());
        return now;
      });
    case "tooth":
      return withPart(before, change.part, photo, (part) => {
        const near = (a: number): boolean => Math.abs(((a - change.angleDeg + 540) % 360) - 180) < 0.01;
        const others = (part.teeth ?? []).filter(({ angle_deg }) => !near(angle_deg));
        const angle = ((change.angleDeg % 360) + 360) % 360;
        const own =
          change.state === null ? [] : [{ angle_deg: Number(angle.toFixed(3)), state: change.state }];
        const all = [...others, ...own].sort((a, b) => a.angle_deg - b.angle_deg);
        return put(part, "teeth", all.length === 0 ? undefined : all);
      });
    default:
      return change satisfies never;
  }
}

const plainLabel = (label: string): string => {
  const trimmed = label.trim();
  return /^[a-z]\d$/i.test(trimmed) ? trimmed.toUpperCase() : trimmed;
};

function put<K extends keyof PartCorrection>(
  part: PartCorrection,
  key: K,
  value: PartCorrection[K] | undefined,
): PartCorrection {
  const rest = withoutKeys(part, key);
  return (value === undefined ? rest : { ...rest, [key]: value }) as PartCorrection;
}

function withPart(
  photo: PhotoCorrection,
  id: string,
  { record }: ChangedPhoto,
  change: (part: PartCorrection) => PartCorrection,
): PhotoCorrection {
  const measured = record?.parts.find((part) => part.id === id);
  const known = photo.parts.find((part) => part.part === id);
  if (!measured && !(known && isByHand(id)))
    throw new PageError("not-found", "this part is no longer in the photograph; look at it again");
  // An earlier change that no longer fits this part was about another one.
  const fits = known !== undefined && (measured === undefined || meansPart(known, measured));
  const before: PartCorrection = fits ? known : { part: id, at_px: measured!.centre_px };
  const after = change(before);
  const says = Object.keys(after).length > 2;
  const others = photo.parts.filter((part) => part.part !== id);
  return { ...photo, parts: says ? [...others, after] : others };
}

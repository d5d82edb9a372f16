import {
  correctPhoto,
  isByHand,
  tipRadiusPx,
  type PartRecord,
  type PhotoCorrection,
  type PhotoRecord,
} from "../../record/index.js";
import type { PartSummary, PhotoState, PhotoSummary } from "../wire.js";

const rank = { fault: 3, watch: 2, note: 1 } as const;

function partSummary(part: PartRecord, photo: PhotoRecord): PartSummary {
  const worst = [...part.findings].sort((a, b) => rank[b.severity] - rank[a.severity])[0]?.severity;
  const { teeth, tip_diameter_mm: tip, module_mm: module } = part;
  const radius = tipRadiusPx(part);
  const side = radius === undefined ? undefined : Math.round(radius * 2.3);
  return {
    id: part.id,
    kind: part.kind,
    ...(part.label === undefined ? {} : { label: part.label }),
    ...(teeth ? { count: teeth.count, probability: teeth.probability } : {}),
    alternatives: (teeth?.alternatives ?? [])
      .map(({ count }) => count)
      .filter((count) => count !== teeth?.count)
      .slice(0, 3),
    ...(tip ? { tipDiameterMm: { value: tip.value, u: tip.u } } : {}),
    ...(module ? { moduleMm: { value: module.value, u: module.u } } : {}),
    ...(worst ? { worst } : {}),
    byHand: isByHand(part.id) || part.findings.some(({ code }) => code.endsWith("-by-hand")),
    ...(side === undefined || photo.width_px === undefined
      ? {}
      : {
          box: [
            Math.round(part.centre_px[0] - side / 2),
            Math.round(part.centre_px[1] - side / 2),
            side,
          ] as const,
        }),
  };
}

/** Heights of a photograph that no person typed. */
export const heightsFromSets = (record: PhotoRecord | undefined) =>
  (record?.settings?.face_heights_mm ?? []).filter(({ from }) => from === "height-set");

/** One line of the list of photographs. */
export function photoSummary(
  name: string,
  sha256: string | undefined,
  record: PhotoRecord | undefined,
  correction: PhotoCorrection | undefined,
  state: PhotoState,
): PhotoSummary {
  const shown = record && correctPhoto(record, correction);
  const fromSets = heightsFromSets(record);
  const [problem] = shown?.problems ?? [];
  return {
    name,
    ...(sha256 === undefined ? {} : { sha256 }),
    state: correction?.left_out ? "left out" : state,
    ...(record?.width_px === undefined ? {} : { widthPx: record.width_px }),
    ...(record?.height_px === undefined ? {} : { heightPx: record.height_px }),
    ...(record ? { scale: record.scale.source } : {}),
    ...(fromSets.length > 0 ? { heightsFromSetsMm: fromSets.map(({ height_mm }) => height_mm) } : {}),
    parts: (shown?.parts ?? []).map((part) => partSummary(part, shown!)),
    ...(problem ? { problem: problem.text, advice: problem.advice } : {}),
  };
}

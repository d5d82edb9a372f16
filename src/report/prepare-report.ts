import type { Photo } from "../photo/index.js";
import type { SurveyDocument } from "../record/index.js";
import { composeReport } from "./content/compose-report.js";
import { beforeAndAfter } from "./content/before-after.js";
import { groupParts, partPictureKey, photoPictureKey, type Sighting } from "./content/group-parts.js";
import type { PrivateData } from "./content/provenance.js";
import type { ReportContent } from "./content/content.js";
import { webFontFaces } from "./html/web-fonts.js";
import type { TrainPapers } from "./train-papers.js";
import { laidOverKey } from "./content/sets-section.js";
import { extremesOf } from "./laid-over/extremes.js";
import { LaidOverSets } from "./laid-over/laid-over-sets.js";
import { cropOf, partPicture, photoPicture, pictureBudget, type Picture } from "./pictures.js";

/** Gives the pixels of a photograph again; undefined where they can't be had any more. */
export type PhotoSource = (photoIndex: number) => Promise<Photo | undefined>;

export interface ComposedReport {
  readonly content: ReportContent;
  readonly pictures: ReadonlyMap<string, Picture>;
  /** Style rules that bring the fonts of the HTML along. */
  readonly fontFaces: string;
}

export interface PrepareOptions {
  /** Inches beside millimetres; default false. */
  readonly inches?: boolean;
  /** Train pictures, lost counts, cutting sheets. */
  readonly papers?: TrainPapers;
  /** Place and serial numbers, photograph by photograph; stated only where given. */
  readonly privateData?: readonly PrivateData[];
}

/**
 * Content and pictures of a report. Photographs are opened one after the other and let go again, so that memory
 * does not grow with their number.
 */
export async function prepareReport(
  survey: SurveyDocument,
  photoOf: PhotoSource,
  options: PrepareOptions = {},
): Promise<ComposedReport> {
  const groups = groupParts(survey);
  const { photos } = survey.measurement;
  const readable = photos.filter((p) => p.width_px !== undefined).length;
  const shown = new Set<Sighting>();
  for (const group of groups) {
    const both = beforeAndAfter(group);
    for (const sighting of [group.best, ...(both ? [both.before, both.after] : [])]) shown.add(sighting);
  }
  const extremes = survey.measurement.sets.map((set) => extremesOf(set, photos));
  const laidOver = new LaidOverSets(extremes, photos);
  const budget = pictureBudget(readable, shown.size + 2 * laidOver.count);
  const pictures = new Map<string, Picture>();
  for (const [index, record] of photos.entries()) {
    if (record.width_px === undefined) continue;
    const photo = await photoOf(index);
    if (!photo || photo.widthPx !== record.width_px || photo.heightPx !== record.height_px) continue;
    pictures.set(photoPictureKey(index), await photoPicture(photo, budget));
    await laidOver.look(index, photo, 2 * budget.partBytes);
    for (const sighting of shown) {
      if (sighting.photoIndex !== index) continue;
      const crop = cropOf(record, sighting.part.id);
      if (crop) pictures.set(partPictureKey(sighting), await partPicture(photo, crop, budget));
    }
  }
  const laid = extremes.map((_, i) => laidOver.of(i));
  for (const [i, set] of laid.entries())
    if (set && "picture" in set) pictures.set(laidOverKey(i), set.picture);
  const content = composeReport(survey, {
    inches: options.inches ?? false,
    ...(options.papers ? { papers: options.papers } : {}),
    ...(options.privateData ? { privateData: options.privateData } : {}),
    cropOf: (sighting) => pictures.get(partPictureKey(sighting))?.box,
    laidOverOf: (i) => laid[i],
  });
  return { content, pictures, fontFaces: await webFontFaces() };
}

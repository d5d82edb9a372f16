import {
  setHeights,
  settingsAtSetHeights,
  withHeightProblems,
  type MeasurePhotoSettings,
  type SetHeights,
} from "../../pipeline/index.js";
import {
  correctionOf,
  correctPhoto,
  settingsWithCorrection,
  strayCorrections,
  withoutKeys,
  type PhotoRecord,
  type SetRecord,
} from "../../record/index.js";
import type { SetPhoto } from "../../survey/index.js";
import type { PhotoDetail, PhotoState, PhotoSummary, Progress } from "../wire.js";
import type { FolderServices, KeptMeasurements } from "./folder-services.js";
import { Measuring, type MeasureJob } from "./measuring.js";
import { PageError } from "./page-error.js";
import { heightsFromSets, photoSummary } from "./summaries.js";
import type { PhotoFile, SurveyFolder } from "./survey-folder.js";
import type { SurveyTexts } from "./survey-texts.js";

export interface KnownPhoto {
  readonly file: PhotoFile;
  readonly sha256: string | undefined;
  /** At the heights that sets found, once it is measured at them. */
  record?: PhotoRecord | undefined;
  /** As it was measured before any set was asked. */
  first?: PhotoRecord | undefined;
  /** Settings that `first` was measured with. */
  measuredWith?: string | undefined;
  /** What sets say of the heights in it; undefined: they have not been asked. */
  heights?:
    | { readonly key: string; readonly found: SetHeights; readonly settings: string; readonly stopped?: true }
    | undefined;
  cancelled?: boolean;
}

export interface PhotoTableOptions {
  readonly workers: number | undefined;
  /** A photograph's state or result is another one now. */
  readonly onPhoto: (name: string) => void;
  /** The file on the disk is no longer the one that was measured. */
  readonly onSwapped: () => void;
  /** What a photograph gave for its set; undefined if it gave nothing. */
  readonly onLook: (name: string, key: string, marks: SetPhoto | undefined) => void;
  readonly onLookStopped: (name: string) => void;
}

/** The photographs of a survey, and the measuring of them. */
export class PhotoTable {
  private known = new Map<string, KnownPhoto>();
  private readonly measuring: Measuring;
  private readonly looking = new Set<KnownPhoto>();

  constructor(
    private readonly folder: SurveyFolder,
    private readonly texts: SurveyTexts,
    private readonly services: FolderServices,
    private readonly options: PhotoTableOptions,
  ) {
    this.measuring = new Measuring({
      ...(options.workers === undefined ? {} : { workers: options.workers }),
      onStart: ({ name }) => options.onPhoto(name),
      onSetPhoto: (job, marks) => {
        // Sets are evaluated by what was seen before any of them was asked.
        if (job.purpose === "heights") return;
        const isSame = marks.sha256 === this.known.get(job.name)?.sha256;
        if (!isSame) return;
        options.onLook(job.name, this.lookKeyOf(job), marks);
        void this.keep(job.settings, (kept) => kept.keepSetPhoto(marks));
      },
      onDone: (job, record) => this.done(job, record),
      onDeath: (job, error) =>
        this.done(job, {
          file: `photos/${job.name}`,
          scale: { source: "none" },
          parts: [],
          problems: [
            {
              code: "unexpected",
              text: `this program failed: ${error instanceof Error ? error.message : String(error)}`,
              advice: "measure it again; if it fails again, please report it",
            },
          ],
        }),
    });
  }

  close(): Promise<void> {
    return this.measuring.close();
  }

  entries(): readonly (readonly [string, KnownPhoto])[] {
    return [...this.known.entries()];
  }

  has(name: string): boolean {
    return this.known.has(name);
  }

  /** In lower case: some file systems take both spellings for one. */
  names(): ReadonlySet<string> {
    return new Set([...this.known.keys()].map((name) => name.toLowerCase()));
  }

  /** @throws PageError "not-found" */
  photo(name: string): KnownPhoto {
    const photo = this.known.get(name);
    if (!photo) throw new PageError("not-found", "there is no photograph of this name in the survey");
    return photo;
  }

  /** Reads which photographs there are: what is new is measured, what is gone is forgotten. Tells what differs. */
  async read(): Promise<boolean> {
    const files = await this.folder.photos();
    const before = this.known;
    // A photograph that only moved keeps what is known of it.
    const gone = new Map(
      [...before.entries()]
        .filter(([name]) => files.every((file) => file.name !== name))
        .map(([, photo]) => [photo.file.stamp, photo]),
    );
    const known = new Map<string, KnownPhoto>();
    let differs = files.length !== before.size;
    for (const file of files) {
      const old = before.get(file.name);
      const moved = gone.get(file.stamp);
      if (old?.file.stamp === file.stamp) known.set(file.name, old);
      else {
        differs = true;
        known.set(
          file.name,
          moved === undefined
            ? { file, sha256: await this.services.sha256OfFile(file.path) }
            : movedPhoto(moved, file),
        );
      }
    }
    for (const name of before.keys()) if (!known.has(name)) this.measuring.cancel(name);
    this.known = known;
    await this.measureWhatIsNew();
    return differs;
  }

  /** Measures photographs again, or for the first time; all that are not measured where none is named. */
  measure(names: readonly string[] | undefined): void {
    for (const name of names ?? this.known.keys()) {
      const photo = this.photo(name);
      if (names === undefined && photo.record && !photo.cancelled) {
        if (photo.heights?.stopped) photo.heights = undefined;
        continue;
      }
      forget(photo);
      photo.cancelled = false;
      this.enqueue(name, photo, names !== undefined);
      this.options.onPhoto(name);
    }
  }

  /**
   * Measures those photographs again in which a wheel has a height that a height set found, as `report` does: kept from
   * earlier where it can be; what was measured at first stands meanwhile, and again once the set is gone.
   */
  useSetHeights(sets: readonly SetRecord[]): void {
    for (const [name, photo] of this.known) {
      const { first, heights } = photo;
      if (!first) continue;
      const settings = this.settingsOf(photo);
      const found = setHeights(first, sets, settings);
      const key = JSON.stringify([found, settings]);
      if (heights?.key === key) continue;
      const isNothing = ({ faceHeights, problems }: SetHeights): boolean =>
        faceHeights.length === 0 && problems.length === 0;
      const again = settingsAtSetHeights(settings, found);
      photo.heights = { key, found, settings: JSON.stringify(again) };
      if (isNothing(found) && (heights === undefined || isNothing(heights.found))) continue;
      photo.record = withHeightProblems(first, found);
      if (found.faceHeights.length > 0) void this.measureAtHeights(name, photo, again);
      this.options.onPhoto(name);
    }
  }

  private async measureAtHeights(
    name: string,
    photo: KnownPhoto,
    settings: MeasurePhotoSettings,
  ): Promise<void> {
    const { heights } = photo;
    const kept = await this.keptBy(settings)
      .then((results) => results.find(photo.sha256 ?? "", `photos/${name}`))
      .catch(() => undefined);
    // Sets may say something else by now.
    if (this.known.get(name) !== photo || photo.heights !== heights) return;
    if (kept) photo.record = withHeightProblems(kept, heights!.found);
    else this.measuring.add({ name, path: photo.file.path, settings, purpose: "heights" });
    this.options.onPhoto(name);
  }

  /** Brings what sets are evaluated by: kept from earlier, or by looking once more; results stand meanwhile. */
  look(names: readonly string[]): void {
    for (const name of names) {
      const photo = this.known.get(name);
      // Without a record it is measured anyway, and looked at with that.
      if (!photo?.record || this.measuring.has(name) || this.looking.has(photo)) continue;
      this.looking.add(photo);
      void this.lookAt(name, photo).finally(() => this.looking.delete(photo));
    }
  }

  /** Photographs that are measured at the height that this set found. */
  atHeightOf({ face_height_mm: height }: SetRecord): string[] {
    return this.entries().flatMap(([name, { record }]) =>
      heightsFromSets(record).some(({ height_mm }) => height_mm === height?.value) ? [name] : [],
    );
  }

  private async lookAt(name: string, photo: KnownPhoto): Promise<void> {
    const settings = this.settingsOf(photo);
    const { path } = photo.file;
    const kept = await this.keptBy(settings)
      .then((results) => results.findSetPhoto(photo.sha256 ?? "", path))
      .catch(() => undefined);
    // It may have gone, or be measured anew meanwhile.
    if (this.known.get(name) !== photo || this.measuring.has(name)) return;
    if (kept) this.options.onLook(name, this.lookKey(photo), kept);
    else this.measuring.add({ name, path, settings, purpose: "set" });
  }

  private async keptBy(settings: MeasurePhotoSettings): Promise<KeptMeasurements> {
    return this.services.openMeasurements(await this.folder.subfolder("results"), settings);
  }

  cancel(name?: string): void {
    for (const job of this.measuring.cancel(name)) {
      if (job.purpose === "set") {
        this.options.onLookStopped(job.name);
        continue;
      }
      const photo = this.known.get(job.name);
      // Stopped on its way to another height, it keeps what it has.
      if (photo?.heights && job.purpose === "heights") photo.heights = { ...photo.heights, stopped: true };
      else if (photo) photo.cancelled = true;
      this.options.onPhoto(job.name);
    }
  }

  summary(name: string): PhotoSummary {
    const photo = this.known.get(name)!;
    const correction = correctionOf(this.texts.corrections, photo.sha256);
    return photoSummary(name, photo.sha256, photo.record, correction, this.stateOf(name, photo));
  }

  detail(name: string): PhotoDetail {
    const photo = this.photo(name);
    const correction = correctionOf(this.texts.corrections, photo.sha256);
    const { record } = photo;
    // A photograph that was left out is still to be looked at.
    const open = correction && withoutKeys(correction, "left_out");
    return {
      summary: this.summary(name),
      ...(record ? { measured: record } : {}),
      ...(record && open ? { shown: correctPhoto(record, open) } : {}),
      ...(correction ? { correction } : {}),
      stray: record && correction ? strayCorrections(record, correction) : [],
    };
  }

  progress(): Progress {
    const states = this.entries().map(([name, photo]) => this.stateOf(name, photo));
    return {
      total: states.length,
      done: states.filter((state) => state === "done").length,
      running: states.filter((state) => state === "measuring").length,
    };
  }

  corrected(): PhotoRecord[] {
    return [...this.known.values()].flatMap(({ record, sha256 }) =>
      record ? [correctPhoto(record, correctionOf(this.texts.corrections, sha256))] : [],
    );
  }

  settingsOf(photo: KnownPhoto): MeasurePhotoSettings {
    return settingsWithCorrection(this.texts.settings, correctionOf(this.texts.corrections, photo.sha256));
  }

  /** By this is known what a photograph gave for its set: content and settings. */
  lookKey(photo: KnownPhoto): string {
    return `${photo.sha256} ${JSON.stringify(this.settingsOf(photo))}`;
  }

  private lookKeyOf({ name, settings }: MeasureJob): string {
    return `${this.known.get(name)?.sha256} ${JSON.stringify(settings)}`;
  }

  private stateOf(name: string, photo: KnownPhoto): PhotoState {
    if (this.measuring.isRunning(name)) return "measuring";
    if (this.measuring.isWaiting(name)) return "waiting";
    return photo.record ? "done" : photo.cancelled ? "cancelled" : "waiting";
  }

  /** Photographs whose content or settings changed are taken from earlier results, or measured. */
  private async measureWhatIsNew(): Promise<void> {
    for (const [name, photo] of this.known) {
      const settings = this.settingsOf(photo);
      const key = JSON.stringify(settings);
      if (photo.cancelled || photo.measuredWith === key) continue;
      photo.measuredWith = key;
      const { sha256 } = photo;
      const record =
        sha256 === undefined ? undefined : await (await this.keptBy(settings)).find(sha256, `photos/${name}`);
      forget(photo);
      if (record) {
        this.measuring.cancel(name);
        photo.first = photo.record = record;
      } else this.enqueue(name, photo, false);
      this.options.onPhoto(name);
    }
  }

  private enqueue(name: string, photo: KnownPhoto, first: boolean): void {
    const settings = this.settingsOf(photo);
    photo.measuredWith = JSON.stringify(settings);
    this.measuring.add({ name, path: photo.file.path, settings, purpose: "record" }, first);
  }

  private done(job: MeasureJob, measured: PhotoRecord): void {
    const { name, settings } = job;
    const photo = this.known.get(name);
    if (!photo) return;
    if (job.purpose === "set") return this.options.onLook(name, this.lookKeyOf(job), undefined);
    const sum = photo.sha256 === undefined ? {} : { sha256: photo.sha256 };
    const record: PhotoRecord = { ...sum, ...measured, file: `photos/${name}` };
    // The file changed under the worker's hands: the folder is read again, and with it the new one.
    if (record.sha256 !== photo.sha256) return this.options.onSwapped();
    if (job.purpose === "heights") {
      if (photo.heights?.settings !== JSON.stringify(settings)) return this.options.onPhoto(name);
      // What was measured at first is worth more than nothing.
      if (record.parts.length > 0) photo.record = withHeightProblems(record, photo.heights.found);
    } else {
      forget(photo);
      photo.first = photo.record = record;
      photo.measuredWith = JSON.stringify(settings);
    }
    this.options.onPhoto(name);
    if (record.parts.length === 0 && job.purpose === "heights") return;
    void this.keep(settings, (kept) => kept.keep(record));
  }

  private async keep(
    settings: MeasurePhotoSettings,
    write: (kept: KeptMeasurements) => Promise<void>,
  ): Promise<void> {
    try {
      await write(await this.keptBy(settings));
    } catch {
      // Nothing is lost: what could not be kept is measured again the next time.
    }
  }
}

function movedPhoto(photo: KnownPhoto, file: PhotoFile): KnownPhoto {
  const { sha256, first, measuredWith } = photo;
  if (first === undefined) return { file, sha256 };
  const moved = { ...first, file: `photos/${file.name}` };
  return { file, sha256, record: moved, first: moved, measuredWith };
}

function forget(photo: KnownPhoto): void {
  photo.record = undefined;
  photo.first = undefined;
  photo.heights = undefined;
}

import type { MeasurePhotoSettings } from "../../pipeline/index.js";
import {
  correctionOf,
  correctPhoto,
  settingsWithCorrection,
  strayCorrections,
  withoutKeys,
  type PhotoRecord,
} from "../../record/index.js";
import type { SetPhoto } from "../../survey/index.js";
import type { PhotoDetail, PhotoState, PhotoSummary, Progress } from "../wire.js";
import type { FolderServices, KeptMeasurements } from "./folder-services.js";
import { Measuring, type MeasureJob } from "./measuring.js";
import { PageError } from "./page-error.js";
import { photoSummary } from "./summaries.js";
import type { PhotoFile, SurveyFolder } from "./survey-folder.js";
import type { SurveyTexts } from "./survey-texts.js";

export interface KnownPhoto {
  readonly file: PhotoFile;
  readonly sha256: string | undefined;
  record?: PhotoRecord | undefined;
  /** Settings that `record` was measured with. */
  measuredWith?: string | undefined;
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
      if (names === undefined && photo.record && !photo.cancelled) continue;
      photo.record = undefined;
      photo.cancelled = false;
      this.enqueue(name, photo, names !== undefined);
      this.options.onPhoto(name);
    }
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
      if (photo) photo.cancelled = true;
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
      if (record) {
        this.measuring.cancel(name);
        photo.record = record;
      } else {
        photo.record = undefined;
        this.enqueue(name, photo, false);
      }
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
    photo.record = record;
    photo.measuredWith = JSON.stringify(settings);
    this.options.onPhoto(name);
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
  const { sha256, record, measuredWith } = photo;
  if (record === undefined) return { file, sha256 };
  return { file, sha256, record: { ...record, file: `photos/${file.name}` }, measuredWith };
}

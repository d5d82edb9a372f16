import { watch, type FSWatcher } from "node:fs";
import { basename, join } from "node:path";
import type { MeasurePhotoSettings } from "../../pipeline/index.js";
import { SurveyError } from "../../problem/index.js";
import {
  correctionOf,
  correctionsFileName,
  correctionsText,
  correctPhoto,
  emptyStatement,
  noCorrections,
  readCorrectionsFile,
  readSurveyFile,
  settingsWithCorrection,
  strayCorrections,
  withoutKeys,
  type CorrectionsRecord,
  type PhotoRecord,
  type SurveyFile,
} from "../../record/index.js";
import type {
  CaptureState,
  Change,
  ChangedFile,
  ChangeRequest,
  MovementState,
  PageEvent,
  PhotoDetail,
  PhotoState,
  PhotoSummary,
  Progress,
  Revisions,
  SurveyState,
  TodoState,
} from "../wire.js";
import { changeWords } from "./change-words.js";
import { withChange } from "./correct.js";
import type { FolderServices } from "./folder-services.js";
import { History, type HistoryStep } from "./history.js";
import { Measuring } from "./measuring.js";
import { movementState, newMovementText } from "./movement-state.js";
import { PageError } from "./page-error.js";
import { ReportMaker } from "./report-maker.js";
import { photoSummary } from "./summaries.js";
import { revisionOf, SurveyFolder, type PhotoFile } from "./survey-folder.js";
import { todoState } from "./todo.js";
import { withYamlValue } from "./yaml-change.js";

const surveyFileName = "survey.yaml";
const usualMovementName = "movement.yaml";

interface KnownPhoto {
  readonly file: PhotoFile;
  readonly sha256: string | undefined;
  record?: PhotoRecord | undefined;
  /** Settings that `record` was measured with. */
  measuredWith?: string | undefined;
  cancelled?: boolean;
}

interface Texts {
  readonly corrections: string | undefined;
  readonly survey: string | undefined;
  readonly movement: string | undefined;
}

/**
 * One survey that is open: its folder, what is being measured in it, and everybody who watches. The folder is the
 * database: whatever changes is written there first, and read anew when it changes there.
 */
export class SurveyDesk {
  private known = new Map<string, KnownPhoto>();
  private texts: Texts = { corrections: undefined, survey: undefined, movement: undefined };
  private corrections: CorrectionsRecord = noCorrections;
  private survey: SurveyFile = { statement: emptyStatement, settings: {} };
  private settings: MeasurePhotoSettings = {};
  private faults: { file: ChangedFile; text: string }[] = [];
  private readonly watchers = new Set<(event: PageEvent) => void>();
  private fileWatchers: FSWatcher[] = [];
  private soon: NodeJS.Timeout | undefined;
  private readonly measuring: Measuring;
  /** One after the other: reading the folder and changing it. */
  private turn: Promise<unknown> = Promise.resolve();
  private movement: { key: string; state: MovementState } | undefined;
  readonly report: ReportMaker;
  captureState: () => CaptureState = () => ({ on: false, phoneJoined: false, received: 0 });

  private constructor(
    readonly folder: SurveyFolder,
    private readonly history: History,
    private readonly services: FolderServices,
    workers: number | undefined,
  ) {
    this.measuring = new Measuring({
      ...(workers === undefined ? {} : { workers }),
      onStart: ({ name }) => this.sayPhoto(name),
      onDone: ({ name, settings }, record) => void this.keep(name, settings, record),
      onDeath: ({ name, settings }, error) =>
        void this.keep(name, settings, {
          file: `photos/${name}`,
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
    this.report = new ReportMaker(folder, services, () => this.say({ type: "changed", what: "report" }));
  }

  static async open(path: string, services: FolderServices, workers?: number): Promise<SurveyDesk> {
    const folder = await SurveyFolder.open(path, services);
    const history = await History.open(await folder.subfolder("history"), services);
    const desk = new SurveyDesk(folder, history, services, workers);
    await desk.refresh();
    desk.watchFolder();
    return desk;
  }

  get name(): string {
    return basename(this.folder.path);
  }

  /** Calls `listener` for everything that happens, until the returned function is called. */
  listen(listener: (event: PageEvent) => void): () => void {
    this.watchers.add(listener);
    return () => void this.watchers.delete(listener);
  }

  async close(): Promise<void> {
    this.say({ type: "closing" });
    for (const watcher of this.fileWatchers) watcher.close();
    clearTimeout(this.soon);
    this.report.cancel();
    await this.measuring.close();
    await this.turn.catch(() => undefined);
  }

  say(event: PageEvent): void {
    for (const watcher of this.watchers) watcher(event);
  }

  /** Reads the folder: what is new is measured, what is gone is forgotten. */
  refresh(): Promise<void> {
    return this.inTurn(() => this.readFolder());
  }

  async state(): Promise<SurveyState> {
    const { settings } = this.survey;
    return {
      name: this.name,
      folder: this.folder.path,
      revisions: this.revisions(),
      photos: [...this.known.keys()].map((name) => this.summary(name)),
      progress: this.progress(),
      statement: this.survey.statement,
      settings: {
        ...(settings.matAcrossMm === undefined ? {} : { matAcrossMm: settings.matAcrossMm }),
        ...(settings.matAlongMm === undefined ? {} : { matAlongMm: settings.matAlongMm }),
        ...(this.survey.mat === undefined ? {} : { mat: this.survey.mat }),
        faceHeights: settings.faceHeights ?? [],
        ...(this.survey.paper === undefined ? {} : { paper: this.survey.paper }),
        inches: this.survey.inches ?? false,
      },
      ...(this.history.last ? { undo: this.history.last.words } : {}),
      ...(this.history.next ? { redo: this.history.next.words } : {}),
      faults: this.faults,
      report: await this.report.state(this.stamp(), this.history.last?.at),
      capture: this.captureState(),
    };
  }

  detail(name: string): PhotoDetail {
    const photo = this.photo(name);
    const correction = correctionOf(this.corrections, photo.sha256);
    const { record } = photo;
    // A photograph that was left out is still to be looked at.
    const open = correction && withoutKeys(correction, "left_out");
    return {
      summary: this.summary(name),
      ...(record ? { measured: record, shown: correctPhoto(record, open) } : {}),
      ...(correction ? { correction } : {}),
      stray: record && correction ? strayCorrections(record, correction) : [],
    };
  }

  /** @throws PageError "not-found" */
  photo(name: string): KnownPhoto {
    const photo = this.known.get(name);
    if (!photo) throw new PageError("not-found", "there is no photograph of this name in the survey");
    return photo;
  }

  /** Name of the photograph with the same content as a file; undefined if there is none. */
  async sameContent(path: string): Promise<string | undefined> {
    const sha256 = await this.services.sha256OfFile(path);
    if (sha256 === undefined) return undefined;
    return [...this.known.entries()].find(([, photo]) => photo.sha256 === sha256)?.[0];
  }

  photoNames(): ReadonlySet<string> {
    return new Set([...this.known.keys()].map((name) => name.toLowerCase()));
  }

  async movementNow(): Promise<MovementState> {
    const key = this.stamp();
    if (this.movement?.key === key) return this.movement.state;
    const state = await movementState(
      this.texts.movement,
      revisionOf(this.texts.movement),
      this.correctedPhotos(),
    );
    this.movement = { key, state };
    return state;
  }

  async todo(): Promise<TodoState> {
    const photos = [...this.known.entries()];
    return todoState(
      photos.map(([name]) => name),
      photos.map(([, { record }]) => record),
      this.corrections,
      await this.movementNow(),
      await this.services.setsOf(this.folder.path),
    );
  }

  /** Text of the movement's drawing; undefined without a movement. */
  async drawing(): Promise<string | undefined> {
    const { text, exists, mistakes } = await this.movementNow();
    if (!exists || mistakes.length > 0) return undefined;
    const room = await import("../../trains/index.js");
    const reading = room.readMovement(text);
    if (!reading.ok) return undefined;
    const evidence = room.evidenceFromSurvey(this.correctedPhotos().flatMap(({ parts }) => parts));
    const { movement } = room.placeEvidence(reading.value, evidence);
    return room.drawTrainElevation(movement, room.evaluateMovement(movement));
  }

  /** Measures photographs again, or for the first time; all that are not measured where none is named. */
  measure(names: readonly string[] | undefined): void {
    for (const name of names ?? this.known.keys()) {
      const photo = this.photo(name);
      if (names === undefined && photo.record && !photo.cancelled) continue;
      photo.record = undefined;
      photo.cancelled = false;
      this.enqueue(name, photo, names !== undefined);
      this.sayPhoto(name);
    }
  }

  cancelMeasuring(name?: string): void {
    for (const each of this.measuring.cancel(name)) {
      const photo = this.known.get(each);
      if (photo) photo.cancelled = true;
      this.sayPhoto(each);
    }
  }

  makeReport(): void {
    this.report.make(this.stamp());
  }

  /** Makes one change by a person. @throws PageError "conflict" if somebody else was faster, or "invalid". */
  change({ change, revision }: ChangeRequest): Promise<void> {
    return this.inTurn(async () => {
      // Another program may have written the files meanwhile.
      await this.readTexts();
      const file = fileOf(change);
      const now = revisionOf(this.texts[file]);
      if (now !== revision)
        throw new PageError(
          "conflict",
          "this was changed in another window or program meanwhile; your change was not made",
        );
      const after = await this.textsAfter(change);
      await this.write(changeWords(change), after);
    });
  }

  undo(): Promise<void> {
    return this.inTurn(() =>
      this.step(this.history.last, "before", "after", () => this.history.markUndone()),
    );
  }

  redo(): Promise<void> {
    return this.inTurn(() =>
      this.step(this.history.next, "after", "before", () => this.history.markRedone()),
    );
  }

  private revisions(): Revisions {
    return {
      corrections: revisionOf(this.texts.corrections),
      survey: revisionOf(this.texts.survey),
      movement: revisionOf(this.texts.movement),
    };
  }

  private summary(name: string): PhotoSummary {
    const photo = this.known.get(name)!;
    const correction = correctionOf(this.corrections, photo.sha256);
    return photoSummary(name, photo.sha256, photo.record, correction, this.photoState(name, photo));
  }

  private photoState(name: string, photo: KnownPhoto): PhotoState {
    if (this.measuring.isRunning(name)) return "measuring";
    if (this.measuring.isWaiting(name)) return "waiting";
    return photo.record ? "done" : photo.cancelled ? "cancelled" : "waiting";
  }

  private progress(): Progress {
    const states = [...this.known.entries()].map(([name, photo]) => this.photoState(name, photo));
    return {
      total: states.length,
      done: states.filter((state) => state === "done").length,
      running: states.filter((state) => state === "measuring").length,
    };
  }

  private correctedPhotos(): PhotoRecord[] {
    return [...this.known.values()].flatMap(({ record, sha256 }) =>
      record ? [correctPhoto(record, correctionOf(this.corrections, sha256))] : [],
    );
  }

  /** Changes whenever anything does that movement, list or report are made of. */
  private stamp(): string {
    const records = [...this.known.entries()].map(([name, { sha256, measuredWith, record }]) =>
      [name, sha256, record ? measuredWith : ""].join(" "),
    );
    return revisionOf(JSON.stringify([this.revisions(), records]));
  }

  private sayPhoto(name: string): void {
    if (this.known.has(name))
      this.say({ type: "photo", photo: this.summary(name), progress: this.progress() });
  }

  private async keep(name: string, settings: MeasurePhotoSettings, measured: PhotoRecord): Promise<void> {
    const photo = this.known.get(name);
    if (!photo) return;
    const sum = photo.sha256 === undefined ? {} : { sha256: photo.sha256 };
    const record: PhotoRecord = { ...sum, ...measured, file: `photos/${name}` };
    // The file changed under the worker's hands: the folder is read again, and with it the new one.
    if (record.sha256 !== photo.sha256) return void this.refreshSoon();
    photo.record = record;
    photo.measuredWith = JSON.stringify(settings);
    this.sayPhoto(name);
    try {
      const kept = await this.services.openMeasurements(await this.folder.subfolder("results"), settings);
      await kept.keep(record);
    } catch {
      // Nothing is lost: what could not be kept is measured again the next time.
    }
  }

  private inTurn<T>(task: () => Promise<T>): Promise<T> {
    const done = this.turn.then(task, task);
    this.turn = done.catch(() => undefined);
    return done;
  }

  private movementName(): string {
    const name = this.survey.trains;
    // A movement elsewhere is not this survey's to change.
    return name !== undefined && /^[^/\\]+\.ya?ml$/i.test(name) && !name.startsWith(".")
      ? name
      : usualMovementName;
  }

  private async readTexts(): Promise<boolean> {
    const faults: typeof this.faults = [];
    const guarded = async <T>(file: ChangedFile, read: () => Promise<T> | T, otherwise: T): Promise<T> => {
      try {
        return await read();
      } catch (error) {
        if (!(error instanceof SurveyError)) throw error;
        faults.push({ file, text: error.message });
        return otherwise;
      }
    };
    const survey = await guarded("survey", () => this.folder.read(surveyFileName), undefined);
    // What cannot be read is shown as a fault; what was read before holds until it is mended.
    this.survey = await guarded(
      "survey",
      () => (survey === undefined ? { statement: emptyStatement, settings: {} } : readSurveyFile(survey)),
      this.survey,
    );
    const corrections = await guarded("corrections", () => this.folder.read(correctionsFileName), undefined);
    this.corrections = await guarded(
      "corrections",
      () => (corrections === undefined ? noCorrections : readCorrectionsFile(corrections)),
      this.corrections,
    );
    const movement = await guarded("movement", () => this.folder.read(this.movementName()), undefined);
    const { mat, settings } = this.survey;
    this.settings = await guarded(
      "survey",
      async () => (mat === undefined ? settings : { ...settings, ...(await this.services.matReadings(mat)) }),
      settings,
    );
    const before = JSON.stringify([this.revisions(), this.faults]);
    this.texts = { corrections, survey, movement };
    this.faults = faults;
    return before !== JSON.stringify([this.revisions(), this.faults]);
  }

  private async readFolder(): Promise<void> {
    const filesChanged = await this.readTexts();
    const files = await this.folder.photos();
    const before = this.known;
    const known = new Map<string, KnownPhoto>();
    let photosChanged = files.length !== before.size;
    for (const file of files) {
      const old = before.get(file.name);
      if (old?.file.stamp === file.stamp) known.set(file.name, old);
      else {
        photosChanged = true;
        known.set(file.name, { file, sha256: await this.services.sha256OfFile(file.path) });
      }
    }
    for (const name of before.keys()) if (!known.has(name)) this.measuring.cancel(name);
    this.known = known;
    await this.measureWhatIsNew();
    if (filesChanged) this.say({ type: "changed", what: "files" });
    if (photosChanged) this.say({ type: "changed", what: "photos" });
  }

  /** Photographs whose content or settings changed are taken from earlier results, or measured. */
  private async measureWhatIsNew(): Promise<void> {
    const results = await this.folder.subfolder("results");
    for (const [name, photo] of this.known) {
      const settings = this.settingsOf(photo);
      const key = JSON.stringify(settings);
      if (photo.cancelled || (photo.record && photo.measuredWith === key)) continue;
      if (!photo.record && photo.measuredWith === key) continue;
      photo.measuredWith = key;
      const kept =
        photo.sha256 === undefined ? undefined : await this.services.openMeasurements(results, settings);
      const record = kept && (await kept.find(photo.sha256!, `photos/${name}`));
      if (record) {
        this.measuring.cancel(name);
        photo.record = record;
        this.sayPhoto(name);
      } else {
        photo.record = undefined;
        this.enqueue(name, photo, false);
        this.sayPhoto(name);
      }
    }
  }

  private settingsOf(photo: KnownPhoto): MeasurePhotoSettings {
    return settingsWithCorrection(this.settings, correctionOf(this.corrections, photo.sha256));
  }

  private enqueue(name: string, photo: KnownPhoto, first: boolean): void {
    const settings = this.settingsOf(photo);
    photo.measuredWith = JSON.stringify(settings);
    this.measuring.add({ name, path: photo.file.path, settings }, first);
  }

  private watchFolder(): void {
    for (const path of [this.folder.path, join(this.folder.path, "photos")]) {
      try {
        const watcher = watch(path, () => this.refreshSoon());
        watcher.on("error", () => watcher.close());
        this.fileWatchers.push(watcher);
      } catch {
        // Some file systems cannot be watched: the folder is read when a window asks for it.
      }
    }
  }

  private refreshSoon(): void {
    clearTimeout(this.soon);
    this.soon = setTimeout(() => void this.refresh().catch(() => undefined), 400);
  }

  /** The files as a change leaves them; only those that differ. */
  private async textsAfter(change: Change): Promise<Partial<Record<ChangedFile, string>>> {
    switch (change.kind) {
      case "photo":
      case "part":
      case "tooth":
      case "new part":
      case "as measured":
      case "face height": {
        const { sha256, record } = this.photo(change.photo);
        if (sha256 === undefined) throw new PageError("not-found", "this photograph cannot be read");
        const after = withChange(this.corrections, change, { name: change.photo, sha256, record });
        return { corrections: checked(correctionsText(after), readCorrectionsFile) };
      }
      case "done": {
        const others = this.corrections.done.filter((key) => key !== change.key);
        const done = change.done ? [...others, change.key] : others;
        return { corrections: correctionsText({ ...this.corrections, done }) };
      }
      case "statement":
        return {
          survey: checked(withYamlValue(this.texts.survey ?? "", change.path, change.value), readSurveyFile),
        };
      case "new movement": {
        const survey = this.withTrains();
        const text = this.texts.movement ?? newMovementText(this.correctedPhotos());
        return { movement: text, ...survey };
      }
      case "movement text":
        // What a person wrote is kept, mistakes and all: the page shows them beside the text.
        return { movement: change.text, ...this.withTrains() };
      case "movement": {
        const text = withYamlValue(this.texts.movement ?? "trains:\n", change.path, change.value);
        const { readMovement } = await import("../../trains/index.js");
        const reading = readMovement(text);
        if (!reading.ok) throw new PageError("invalid", reading.mistakes[0]?.text ?? "this is no movement");
        return { movement: text, ...this.withTrains() };
      }
      default:
        return change satisfies never;
    }
  }

  /** survey.yaml must name the movement file, or the report would not know of it. */
  private withTrains(): { survey?: string } {
    if (this.survey.trains !== undefined) return {};
    return { survey: withYamlValue(this.texts.survey ?? "", ["trains"], usualMovementName) };
  }

  private fileNameOf(file: ChangedFile): string {
    return file === "corrections"
      ? correctionsFileName
      : file === "survey"
        ? surveyFileName
        : this.movementName();
  }

  private async write(words: string, after: Partial<Record<ChangedFile, string>>): Promise<void> {
    const files = Object.entries(after).flatMap(([key, text]): HistoryStep["files"] => {
      const file = key as ChangedFile;
      const before = this.texts[file] ?? null;
      return before === text ? [] : [{ file, name: this.fileNameOf(file), before, after: text }];
    });
    if (files.length === 0) return;
    await this.history.add(words, files);
    try {
      for (const { name, after: text } of files) await this.folder.write(name, text!);
    } catch (error) {
      await this.history.drop().catch(() => undefined);
      throw error;
    }
    await this.readFolder();
  }

  private async step(
    step: HistoryStep | undefined,
    to: "before" | "after",
    from: "before" | "after",
    mark: () => Promise<void>,
  ): Promise<void> {
    if (!step) throw new PageError("not-found", "there is nothing to take back");
    await this.readTexts();
    for (const each of step.files) {
      const now = this.texts[each.file] ?? null;
      // Killed between writing the step and its file, the file stands as it was before.
      if (now !== each[from] && now !== each[to])
        throw new PageError(
          "conflict",
          `${each.name} was changed by another program since; taking this back would lose that`,
        );
    }
    for (const each of step.files) {
      const text = each[to];
      if (text === null) await this.folder.remove(each.name);
      else await this.folder.write(each.name, text);
    }
    await mark();
    await this.readFolder();
  }
}

const fileOf = (change: Change): ChangedFile =>
  change.kind === "statement"
    ? "survey"
    : change.kind === "movement" || change.kind === "movement text" || change.kind === "new movement"
      ? "movement"
      : "corrections";

/** Text that reads back; what cannot be written down is refused before anything is. */
function checked(text: string, read: (text: string) => unknown): string {
  try {
    read(text);
    return text;
  } catch (error) {
    if (error instanceof SurveyError) throw new PageError("invalid", error.message);
    throw error;
  }
}

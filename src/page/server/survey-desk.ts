import { watch, type FSWatcher } from "node:fs";
import { basename, join } from "node:path";
import { readPhoto, type Photo } from "../../photo/index.js";
import { correctionOf } from "../../record/index.js";
import {
  changedBy,
  type CaptureState,
  type ChangeRequest,
  type MovementState,
  type PageEvent,
  type PhotoDetail,
  type Revisions,
  type SetState,
  type SurveyState,
  type TodoState,
} from "../wire.js";
import { ChangeLog } from "./change-log.js";
import { changeWords } from "./change-words.js";
import { filesAfter } from "./files-after.js";
import type { FolderServices } from "./folder-services.js";
import { movementState } from "./movement-state.js";
import { PageError } from "./page-error.js";
import { PhotoTable, type KnownPhoto } from "./photo-table.js";
import { ReportMaker } from "./report-maker.js";
import { SetBench } from "./set-bench.js";
import { drawLaidOver, drawSetFigure, setFigures } from "./set-figures.js";
import { revisionOf, SurveyFolder } from "./survey-folder.js";
import { SurveyTexts } from "./survey-texts.js";
import { todoState } from "./todo.js";

/**
 * One survey that is open: its folder, what is being measured in it, and everybody who watches. The folder is the
 * database: whatever changes is written there first, and read anew when it changes there.
 */
export class SurveyDesk {
  private readonly watchers = new Set<(event: PageEvent) => void>();
  private fileWatchers: FSWatcher[] = [];
  private soon: NodeJS.Timeout | undefined;
  private readonly photos: PhotoTable;
  private readonly sets: SetBench;
  /** Photographs whose result some window waits for. */
  private readonly awaited = new Set<string>();
  /** One after the other: reading the folder and changing it. */
  private turn: Promise<unknown> = Promise.resolve();
  private laid: { readonly name: string; readonly svg: Promise<string | undefined> } | undefined;
  private movement: { key: string; state: MovementState } | undefined;
  readonly report: ReportMaker;
  captureState: () => CaptureState = () => ({ on: false, phoneJoined: false, received: 0 });

  private constructor(
    readonly folder: SurveyFolder,
    private readonly texts: SurveyTexts,
    private readonly log: ChangeLog,
    private readonly services: FolderServices,
    workers: number | undefined,
  ) {
    this.photos = new PhotoTable(folder, texts, services, {
      workers,
      onPhoto: (name) => this.photoChanged(name),
      onSwapped: () => this.refreshSoon(),
      onLook: (name, key, marks) => this.sets.take(name, key, marks),
      onLookStopped: (name) => this.sets.stop(name),
    });
    this.sets = new SetBench({
      look: (names) => this.photos.look(names),
      onChange: () => {
        this.say({ type: "changed", what: "sets" });
        this.useSetHeights();
      },
    });
    this.report = new ReportMaker(folder, services, () => this.say({ type: "changed", what: "report" }));
  }

  static async open(path: string, services: FolderServices, workers?: number): Promise<SurveyDesk> {
    const folder = await SurveyFolder.open(path, services);
    const texts = new SurveyTexts(folder, services);
    const log = await ChangeLog.open(folder, texts, services);
    const desk = new SurveyDesk(folder, texts, log, services, workers);
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
    this.sets.close();
    await this.photos.close();
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
    const { survey, faults } = this.texts;
    const { settings } = survey;
    return {
      name: this.name,
      folder: this.folder.path,
      revisions: this.revisions(),
      photos: this.photos.entries().map(([name]) => this.photos.summary(name)),
      progress: this.photos.progress(),
      statement: survey.statement,
      settings: {
        ...(settings.matAcrossMm === undefined ? {} : { matAcrossMm: settings.matAcrossMm }),
        ...(settings.matAlongMm === undefined ? {} : { matAlongMm: settings.matAlongMm }),
        ...(survey.mat === undefined ? {} : { mat: survey.mat }),
        faceHeights: settings.faceHeights ?? [],
        ...(survey.paper === undefined ? {} : { paper: survey.paper }),
        inches: survey.inches ?? false,
      },
      ...(this.log.last ? { undo: this.log.last.words } : {}),
      ...(this.log.next ? { redo: this.log.next.words } : {}),
      faults,
      report: await this.report.state(this.stamp(), this.log.last?.at),
      capture: this.captureState(),
    };
  }

  detail(name: string): PhotoDetail {
    const detail = this.photos.detail(name);
    if (detail.measured === undefined) this.awaited.add(name);
    return detail;
  }

  /** @throws PageError "not-found" */
  photo(name: string): KnownPhoto {
    return this.photos.photo(name);
  }

  /** Name of the photograph with the same content as a file; undefined if there is none. */
  async sameContent(path: string): Promise<string | undefined> {
    const sha256 = await this.services.sha256OfFile(path);
    if (sha256 === undefined) return undefined;
    return this.photos.entries().find(([, photo]) => photo.sha256 === sha256)?.[0];
  }

  photoNames(): ReadonlySet<string> {
    return this.photos.names();
  }

  async movementNow(): Promise<MovementState> {
    const key = this.stamp();
    if (this.movement?.key === key) return this.movement.state;
    const text = this.texts.textOf("movement");
    const state = await movementState(text, revisionOf(text), this.photos.corrected());
    this.movement = { key, state };
    return state;
  }

  setStates(): readonly SetState[] {
    const photos = this.photos.corrected();
    return this.sets.states().map(({ records, ...set }) => ({
      ...set,
      results: records.map((record, i) => ({
        record,
        figures: setFigures(record, photos, `${set.key}/${i}`),
        ...(record.face_height_mm === undefined ? {} : { usedIn: this.photos.atHeightOf(record) }),
      })),
    }));
  }

  /** A plot of a set as SVG. @throws PageError "not-found" */
  setFigure(key: string, result: string, figure: string): string {
    const record = this.sets.states().find((set) => set.key === key)?.records[Number(result)];
    const drawing = record && drawSetFigure(record, this.photos.corrected(), Number(figure));
    if (drawing === undefined) throw new PageError("not-found", "there is no such plot");
    return drawing;
  }

  /** The two photographs of a play set that are furthest apart, over each other, as SVG. @throws PageError "not-found" */
  async laidOver(key: string, result: string): Promise<string> {
    const name = `${key}/${result}`;
    const record = this.sets.states().find((set) => set.key === key)?.records[Number(result)];
    if (record === undefined) throw new PageError("not-found", "there is no such set");
    const photos = this.photos.corrected();
    const open = async (index: number): Promise<Photo | undefined> => {
      const [, known] =
        this.photos.entries().find(([photo]) => `photos/${photo}` === photos[index]?.file) ?? [];
      const photo = known && (await readPhoto(known.file.path));
      return photo?.ok && photo.value.sha256 === known?.sha256 ? photo.value : undefined;
    };
    const drawing = this.laid?.name === name ? this.laid.svg : drawLaidOver(record, photos, open);
    // One at a time: it takes two whole photographs to make.
    this.laid = { name, svg: drawing };
    const svg = await drawing;
    if (svg === undefined)
      throw new PageError("not-found", "these photographs cannot be laid over each other");
    return svg;
  }

  async todo(): Promise<TodoState> {
    const photos = this.photos.entries();
    return todoState(
      photos.map(([name]) => name),
      photos.map(([, { record }]) => record),
      this.texts.corrections,
      await this.movementNow(),
      this.sets.states().flatMap(({ records }) => records),
    );
  }

  /** Text of the movement's drawing; undefined without a movement. */
  async drawing(): Promise<string | undefined> {
    const { text, exists, mistakes } = await this.movementNow();
    if (!exists || mistakes.length > 0) return undefined;
    const room = await import("../../trains/index.js");
    const reading = room.readMovement(text);
    if (!reading.ok) return undefined;
    const evidence = room.evidenceFromSurvey(this.photos.corrected().flatMap(({ parts }) => parts));
    const { movement } = room.placeEvidence(reading.value, evidence);
    return room.drawTrainElevation(movement, room.evaluateMovement(movement));
  }

  /** Measures photographs again, or for the first time; all that are not measured where none is named. */
  measure(names: readonly string[] | undefined): void {
    this.photos.measure(names);
    if (names === undefined) {
      this.sets.again();
      this.useSetHeights();
    }
  }

  cancelMeasuring(name?: string): void {
    this.photos.cancel(name);
  }

  makeReport(): void {
    this.report.make(this.stamp());
  }

  /** Makes one change by a person. @throws PageError "conflict" if somebody else was faster, or "invalid". */
  change({ change, revision }: ChangeRequest): Promise<void> {
    return this.inTurn(async () => {
      // Another program may have written the files meanwhile.
      await this.texts.read();
      const by = changedBy(change);
      if (by === "sets") await this.photos.read();
      if (this.revisions()[by] !== revision)
        throw new PageError(
          "conflict",
          "this was changed in another window or program meanwhile; your change was not made",
        );
      const after = await filesAfter(change, {
        texts: this.texts,
        photo: (name) => this.photos.photo(name),
        photoNames: this.photos.names(),
        correctedPhotos: () => this.photos.corrected(),
      });
      if (await this.log.make(changeWords(change), after)) await this.readFolder();
    });
  }

  undo(): Promise<void> {
    return this.step(() => this.log.undo());
  }

  redo(): Promise<void> {
    return this.step(() => this.log.redo());
  }

  private step(take: () => Promise<void>): Promise<void> {
    return this.inTurn(async () => {
      await this.texts.read();
      await take();
      await this.readFolder();
    });
  }

  private revisions(): Revisions {
    const inSets = this.photos
      .entries()
      .map(([name]) => name)
      .filter((name) => name.includes("/"));
    return {
      ...this.texts.revisions(),
      sets: revisionOf(inSets.length === 0 ? undefined : inSets.join("\n")),
    };
  }

  /** Changes whenever anything does that movement, list or report are made of. */
  private stamp(): string {
    const records = this.photos
      .entries()
      .map(([name, { sha256, measuredWith, heights, record }]) =>
        [name, sha256, record ? (heights?.settings ?? measuredWith) : ""].join(" "),
      );
    return revisionOf(JSON.stringify([this.revisions(), records]));
  }

  private photoChanged(name: string): void {
    if (!this.photos.has(name)) return;
    const isDone = this.photos.photo(name).record !== undefined;
    const detail = isDone && this.awaited.delete(name) ? { detail: this.photos.detail(name) } : {};
    this.say({
      type: "photo",
      photo: this.photos.summary(name),
      progress: this.photos.progress(),
      ...detail,
    });
    if (isDone) this.updateSets();
  }

  private updateSets(): void {
    this.sets.update(
      this.photos.entries().flatMap(([name, photo]) => {
        if (correctionOf(this.texts.corrections, photo.sha256)?.left_out) return [];
        const cards = (photo.record?.tags ?? []).map(({ label }) => label);
        return [{ name, lookKey: this.photos.lookKey(photo), cards }];
      }),
    );
    this.useSetHeights();
  }

  private useSetHeights(): void {
    this.photos.useSetHeights(this.sets.states().flatMap(({ records }) => records));
  }

  private inTurn<T>(task: () => Promise<T>): Promise<T> {
    const done = this.turn.then(task, task);
    this.turn = done.catch(() => undefined);
    return done;
  }

  private async readFolder(): Promise<void> {
    const textsDiffer = await this.texts.read();
    const photosDiffer = await this.photos.read();
    this.updateSets();
    if (textsDiffer) this.say({ type: "changed", what: "files" });
    if (photosDiffer) this.say({ type: "changed", what: "photos" });
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
}

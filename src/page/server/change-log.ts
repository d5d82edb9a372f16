import type { ChangedFile } from "../wire.js";
import type { FilesAfter } from "./files-after.js";
import { History, type HistoryStep } from "./history.js";
import { backwards, checkMoves, makeMoves } from "./moves.js";
import { PageError } from "./page-error.js";
import type { FolderServices } from "./folder-services.js";
import type { SurveyFolder } from "./survey-folder.js";
import type { SurveyTexts } from "./survey-texts.js";

/** Makes changes to the files of a survey, and takes them back: each is written down before it is made. */
export class ChangeLog {
  private constructor(
    private readonly folder: SurveyFolder,
    private readonly texts: SurveyTexts,
    private readonly history: History,
  ) {}

  static async open(folder: SurveyFolder, texts: SurveyTexts, services: FolderServices): Promise<ChangeLog> {
    const history = await History.open(await folder.subfolder("history"), services);
    return new ChangeLog(folder, texts, history);
  }

  get last(): HistoryStep | undefined {
    return this.history.last;
  }

  get next(): HistoryStep | undefined {
    return this.history.next;
  }

  /** Tells whether there was anything to do. */
  async make(words: string, { texts, moves }: FilesAfter): Promise<boolean> {
    const files = Object.entries(texts).flatMap(([key, text]): HistoryStep["files"] => {
      const file = key as ChangedFile;
      const before = this.texts.textOf(file) ?? null;
      return before === text ? [] : [{ file, name: this.texts.nameOf(file), before, after: text }];
    });
    if (files.length === 0 && moves.length === 0) return false;
    await checkMoves(this.folder, moves);
    await this.history.add(words, files, moves);
    try {
      for (const { name, after } of files) await this.folder.write(name, after!);
      await makeMoves(this.folder, moves);
    } catch (error) {
      await makeMoves(this.folder, backwards(moves)).catch(() => undefined);
      await this.history.drop().catch(() => undefined);
      throw error;
    }
    return true;
  }

  async undo(): Promise<void> {
    await this.step(this.history.last, "before", "after");
    await this.history.markUndone();
  }

  async redo(): Promise<void> {
    await this.step(this.history.next, "after", "before");
    await this.history.markRedone();
  }

  private async step(
    step: HistoryStep | undefined,
    to: "before" | "after",
    from: "before" | "after",
  ): Promise<void> {
    if (!step) throw new PageError("not-found", "there is nothing to take back");
    for (const each of step.files) {
      const now = this.texts.textOf(each.file) ?? null;
      // Killed between writing the step and its file, the file stands as it was before.
      if (now !== each[from] && now !== each[to])
        throw new PageError(
          "conflict",
          `${each.name} was changed by another program since; taking this back would lose that`,
        );
    }
    const moves = to === "after" ? (step.moves ?? []) : backwards(step.moves ?? []);
    await checkMoves(this.folder, moves);
    for (const each of step.files) {
      const text = each[to];
      if (text === null) await this.folder.remove(each.name);
      else await this.folder.write(each.name, text);
    }
    await makeMoves(this.folder, moves);
  }
}

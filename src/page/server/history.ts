import { readdir, readFile, rm } from "node:fs/promises";
import { join } from "node:path";
import { z } from "zod";
import type { FolderServices } from "./folder-services.js";
import type { Move } from "./moves.js";

const step = z.object({
  number: z.number().int().positive(),
  at: z.string(),
  words: z.string(),
  files: z.array(
    z.object({
      file: z.enum(["corrections", "survey", "movement"]),
      /** File name in the folder. */
      name: z.string(),
      /** Text before and after; null: there was no file. */
      before: z.string().nullable(),
      after: z.string().nullable(),
    }),
  ),
  /** Photographs that got another name or folder within photos/. */
  moves: z.array(z.object({ from: z.string(), to: z.string() })).exactOptional(),
});

export type HistoryStep = z.infer<typeof step>;

/** So many steps can be taken back; older ones are thrown away. */
const mostSteps = 500;

const fileName = (number: number, undone: boolean): string =>
  `${String(number).padStart(6, "0")}${undone ? ".undone" : ""}.json`;
const namePattern = /^(\d{6})(\.undone)?\.json$/;

/**
 * Every change by a person, as files in history/: what each file held before and after. So undo outlives the page,
 * the process and the power.
 */
export class History {
  private constructor(
    private readonly folder: string,
    private readonly services: FolderServices,
    private done: HistoryStep[],
    private undone: HistoryStep[],
  ) {}

  static async open(folder: string, services: FolderServices): Promise<History> {
    const done: HistoryStep[] = [];
    const undone: HistoryStep[] = [];
    for (const name of (await readdir(folder)).sort()) {
      const match = namePattern.exec(name);
      if (!match) continue;
      const read = step.safeParse(
        await readFile(join(folder, name), "utf8")
          .then((text) => JSON.parse(text) as unknown)
          .catch(() => undefined),
      );
      // A step that cannot be read cannot be taken back; the files themselves are not touched by that.
      if (!read.success || read.data.number !== Number(match[1])) continue;
      if (match[2] === undefined) done.push(read.data);
      else undone.push(read.data);
    }
    // Killed between two writes, a step may stand as both: then it is not undone yet.
    const finished = new Set(done.map(({ number }) => number));
    return new History(
      folder,
      services,
      done,
      undone.filter(({ number }) => !finished.has(number)).reverse(),
    );
  }

  get last(): HistoryStep | undefined {
    return this.done.at(-1);
  }

  get next(): HistoryStep | undefined {
    return this.undone.at(-1);
  }

  /** Writes a step down, before its files are changed. Steps that were taken back are forgotten by it. */
  async add(words: string, files: HistoryStep["files"], moves: readonly Move[] = []): Promise<void> {
    for (const { number } of this.undone)
      await rm(join(this.folder, fileName(number, true)), { force: true });
    this.undone = [];
    const number = (this.last?.number ?? 0) + 1;
    const made: HistoryStep = {
      number,
      at: new Date().toISOString(),
      words,
      files,
      ...(moves.length > 0 ? { moves: [...moves] } : {}),
    };
    await this.services.writeWhole(join(this.folder, fileName(number, false)), JSON.stringify(made, null, 1));
    this.done.push(made);
    while (this.done.length > mostSteps) {
      const oldest = this.done.shift()!;
      await rm(join(this.folder, fileName(oldest.number, false)), { force: true });
    }
  }

  /** The change that `add` announced was not made after all. */
  async drop(): Promise<void> {
    const dropped = this.done.pop();
    if (dropped) await rm(join(this.folder, fileName(dropped.number, false)), { force: true });
  }

  /** Marks the last step as taken back, after its files were put back. */
  async markUndone(): Promise<void> {
    const back = this.done.pop();
    if (!back) return;
    await this.services.writeWhole(
      join(this.folder, fileName(back.number, true)),
      JSON.stringify(back, null, 1),
    );
    await rm(join(this.folder, fileName(back.number, false)), { force: true });
    this.undone.push(back);
  }

  /** Marks the last step that was taken back as made again. */
  async markRedone(): Promise<void> {
    const again = this.undone.pop();
    if (!again) return;
    await this.services.writeWhole(
      join(this.folder, fileName(again.number, false)),
      JSON.stringify(again, null, 1),
    );
    await rm(join(this.folder, fileName(again.number, true)), { force: true });
    this.done.push(again);
  }
}

import { lstat, readdir, readFile, stat } from "node:fs/promises";
import { join } from "node:path";
import type { ReportState } from "../wire.js";
import type { FolderServices } from "./folder-services.js";
import { PageError } from "./page-error.js";
import type { SurveyFolder } from "./survey-folder.js";

/** Files of a report, and what they are. Nothing else in its folder is handed out. */
export const reportTypes: Readonly<Record<string, string>> = {
  "report.html": "text/html; charset=utf-8",
  "report.pdf": "application/pdf",
  "measurements.csv": "text/csv; charset=utf-8",
  "survey.json": "application/json",
  SHA256SUMS: "text/plain; charset=utf-8",
};

/** Makes the report of a survey on request, one at a time, in a process of its own. */
export class ReportMaker {
  private running: AbortController | undefined;
  private words: string | undefined;
  /** State of the survey that the report was made of; known only for reports made in this session. */
  private madeOf: string | undefined;

  constructor(
    private readonly folder: SurveyFolder,
    private readonly services: FolderServices,
    private readonly changed: () => void,
  ) {}

  /** @param stamp of the survey as it is now. @param changedAt when a person last changed something, ISO 8601. */
  async state(stamp: string, changedAt: string | undefined): Promise<ReportState> {
    const path = join(this.folder.path, "report");
    const names = await readdir(path).catch(() => [] as string[]);
    const files = Object.keys(reportTypes).filter((name) => names.includes(name));
    const madeAt = (await stat(join(path, "report.html")).catch(() => undefined))?.mtime.toISOString();
    return {
      making: this.running !== undefined,
      files,
      ...(madeAt === undefined ? {} : { madeAt }),
      ...(this.words === undefined ? {} : { words: this.words }),
      stale:
        files.length > 0 &&
        (this.madeOf === undefined ? (changedAt ?? "") > (madeAt ?? "") : this.madeOf !== stamp),
    };
  }

  /** Begins; the end is told by `changed`. */
  make(stamp: string): void {
    if (this.running) throw new PageError("conflict", "the report is being made already");
    const running = new AbortController();
    this.running = running;
    this.words = undefined;
    void this.services
      .makeReport(this.folder.path, running.signal)
      .then(
        ({ ok, words }) => {
          if (ok) this.madeOf = stamp;
          this.words = ok && words === "" ? undefined : words;
        },
        (error: unknown) => {
          this.words = error instanceof Error ? error.message : String(error);
        },
      )
      .finally(() => {
        this.running = undefined;
        this.changed();
      });
    this.changed();
  }

  cancel(): void {
    this.running?.abort();
  }

  /** @throws PageError "not-found" */
  async file(name: string): Promise<{ readonly data: Uint8Array<ArrayBuffer>; readonly type: string }> {
    const type = Object.hasOwn(reportTypes, name) ? reportTypes[name] : undefined;
    if (type === undefined) throw new PageError("not-found", "the report has no such file");
    const folder = await this.folder.subfolder("report");
    const path = join(folder, name);
    // A link in its place would lead out of the survey.
    if (!(await lstat(path).catch(() => undefined))?.isFile())
      throw new PageError("not-found", "the report was not made yet");
    return { data: new Uint8Array(await readFile(path)), type };
  }
}

import { constants } from "node:fs";
import { open, readdir, realpath } from "node:fs/promises";
import { basename, dirname, join, resolve } from "node:path";
import { UsageError } from "../../problem/index.js";
import { readSurveyFile } from "../../record/index.js";
import type { Shelf, SurveyEntry } from "../wire.js";
import type { FolderServices } from "./folder-services.js";
import { isPictureName } from "./survey-folder.js";
import { shownName, surveyName } from "./names.js";
import { PageError } from "./page-error.js";
import { SurveyDesk } from "./survey-desk.js";

/** Surveys in one folder, or one survey alone; each is opened once and stays open. */
export class SurveyShelf {
  private readonly desks = new Map<string, Promise<SurveyDesk>>();

  private constructor(
    private readonly folder: string,
    /** The only survey, where the page was opened for one. */
    private readonly only: string | undefined,
    private readonly services: FolderServices,
    private readonly workers: number | undefined,
  ) {}

  /** @param folder of one survey (made if need be), or undefined: all surveys in `base`. */
  static async at(
    folder: string | undefined,
    base: string,
    services: FolderServices,
    workers?: number,
  ): Promise<SurveyShelf> {
    if (folder === undefined) return new SurveyShelf(await realpath(base), undefined, services, workers);
    const path = resolve(folder);
    const name = basename(path);
    if (name === "") throw new UsageError("page: expected a folder for one survey, not the root of the disk");
    const shelf = new SurveyShelf(dirname(path), name, services, workers);
    await shelf.desk(name);
    return shelf;
  }

  get onlyName(): string | undefined {
    return this.only;
  }

  async list(): Promise<Shelf> {
    return {
      folder: this.folder,
      surveys: await Promise.all((await this.names()).map((name) => this.entry(name))),
      canMake: this.only === undefined,
    };
  }

  /** @throws PageError "not-found" for any name that is not a survey of this shelf. */
  async desk(name: string): Promise<SurveyDesk> {
    const known = this.desks.get(name);
    if (known) return known;
    // Only a name that the disk itself lists becomes part of a path.
    if (name !== this.only && !(await this.names()).includes(name))
      throw new PageError("not-found", "there is no survey of this name");
    const again = this.desks.get(name);
    if (again) return again;
    const opening = SurveyDesk.open(join(this.folder, name), this.services, this.workers);
    this.desks.set(name, opening);
    opening.catch(() => this.desks.delete(name));
    return opening;
  }

  /** Makes a survey. @throws PageError if the name will not do. */
  async make(given: string): Promise<string> {
    if (this.only !== undefined) throw new PageError("forbidden", "the page was opened for one survey only");
    const name = surveyName(given);
    if (name === undefined) throw new PageError("invalid", "expected a name with letters or digits");
    const taken = (await readdir(this.folder)).map((each) => each.toLowerCase());
    if (taken.includes(name.toLowerCase()))
      throw new PageError("invalid", `${shownName(name)} is there already; choose another name`);
    await this.services.makeFolder(join(this.folder, name, "photos"));
    return name;
  }

  async close(): Promise<void> {
    const desks = await Promise.allSettled(this.desks.values());
    for (const desk of desks) if (desk.status === "fulfilled") await desk.value.close();
  }

  private async names(): Promise<string[]> {
    if (this.only !== undefined) return [this.only];
    const entries = await readdir(this.folder, { withFileTypes: true });
    const names: string[] = [];
    for (const entry of entries) {
      if (!entry.isDirectory() || entry.name.startsWith(".")) continue;
      const inside = await readdir(join(this.folder, entry.name), { withFileTypes: true }).catch(() => []);
      if (
        inside.some(
          (each) =>
            (each.isDirectory() && each.name === "photos") || (each.isFile() && each.name === "survey.yaml"),
        )
      )
        names.push(entry.name);
    }
    return names.sort(new Intl.Collator("en", { numeric: true }).compare);
  }

  private async entry(name: string): Promise<SurveyEntry> {
    const photos = await readdir(join(this.folder, name, "photos")).catch(() => [] as string[]);
    const title = await titleOf(join(this.folder, name, "survey.yaml"));
    return {
      name,
      photoCount: photos.filter(isPictureName).length,
      ...(title === undefined ? {} : { title }),
    };
  }
}

async function titleOf(path: string): Promise<string | undefined> {
  try {
    const file = await open(
      path,
      constants.O_RDONLY | (constants.O_NOFOLLOW ?? 0) | (constants.O_NONBLOCK ?? 0),
    );
    try {
      const { size } = await file.stat();
      return size > 256 * 1024 ? undefined : readSurveyFile(await file.readFile("utf8")).statement.title;
    } finally {
      await file.close();
    }
  } catch {
    return undefined;
  }
}

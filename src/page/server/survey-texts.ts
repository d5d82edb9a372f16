import type { MeasurePhotoSettings } from "../../pipeline/index.js";
import { SurveyError } from "../../problem/index.js";
import {
  correctionsFileName,
  emptyStatement,
  noCorrections,
  readCorrectionsFile,
  readSurveyFile,
  type CorrectionsRecord,
  type SurveyFile,
} from "../../record/index.js";
import type { ChangedFile, Revisions } from "../wire.js";
import type { FolderServices } from "./folder-services.js";
import { revisionOf, type SurveyFolder } from "./survey-folder.js";

const surveyFileName = "survey.yaml";
export const usualMovementName = "movement.yaml";

/** The files of a survey that people write: what stands in them, and what it means. */
export class SurveyTexts {
  private texts: Readonly<Record<ChangedFile, string | undefined>> = {
    corrections: undefined,
    survey: undefined,
    movement: undefined,
  };
  corrections: CorrectionsRecord = noCorrections;
  survey: SurveyFile = { statement: emptyStatement, settings: {} };
  /** Of the survey, with the readings of its remembered mat. */
  settings: MeasurePhotoSettings = {};
  faults: readonly { readonly file: ChangedFile; readonly text: string }[] = [];

  constructor(
    private readonly folder: SurveyFolder,
    private readonly services: FolderServices,
  ) {}

  textOf(file: ChangedFile): string | undefined {
    return this.texts[file];
  }

  revisions(): Omit<Revisions, "sets"> {
    return {
      corrections: revisionOf(this.texts.corrections),
      survey: revisionOf(this.texts.survey),
      movement: revisionOf(this.texts.movement),
    };
  }

  nameOf(file: ChangedFile): string {
    return file === "corrections"
      ? correctionsFileName
      : file === "survey"
        ? surveyFileName
        : this.movementName();
  }

  /** Reads them anew; tells whether anything differs. */
  async read(): Promise<boolean> {
    const before = JSON.stringify([this.revisions(), this.faults]);
    const faults: { file: ChangedFile; text: string }[] = [];
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
    this.texts = { corrections, survey, movement };
    this.faults = faults;
    return before !== JSON.stringify([this.revisions(), this.faults]);
  }

  private movementName(): string {
    const name = this.survey.trains;
    // A movement elsewhere is not this survey's to change.
    return name !== undefined && /^[^/\\]+\.ya?ml$/i.test(name) && !name.startsWith(".")
      ? name
      : usualMovementName;
  }
}

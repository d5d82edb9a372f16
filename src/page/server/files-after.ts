import { SurveyError } from "../../problem/index.js";
import {
  correctionsText,
  readCorrectionsFile,
  readSurveyFile,
  type PhotoRecord,
} from "../../record/index.js";
import { belongsToSet } from "../../survey/index.js";
import type { Change, ChangedFile } from "../wire.js";
import { withChange } from "./correct.js";
import { newMovementText } from "./movement-state.js";
import { movesIntoSet, movesToStage, type Move } from "./moves.js";
import { PageError } from "./page-error.js";
import { usualMovementName, type SurveyTexts } from "./survey-texts.js";
import { withYamlValue } from "./yaml-change.js";

/** What a change comes to on the disk. */
export interface FilesAfter {
  readonly texts: Partial<Record<ChangedFile, string>>;
  readonly moves: readonly Move[];
}

export interface ChangeContext {
  readonly texts: SurveyTexts;
  /** @throws PageError "not-found" */
  readonly photo: (name: string) => {
    readonly sha256: string | undefined;
    readonly record?: PhotoRecord | undefined;
  };
  readonly photoNames: ReadonlySet<string>;
  readonly correctedPhotos: () => readonly PhotoRecord[];
}

/** The files as a change leaves them. @throws PageError if it is about something that is not there, or wrong. */
export async function filesAfter(change: Change, context: ChangeContext): Promise<FilesAfter> {
  if (change.kind === "set") {
    for (const name of change.photos) context.photo(name);
    const hasCard = (name: string): boolean => isOfSetByCard(context.photo(name).record);
    return { texts: {}, moves: movesIntoSet(change.photos, change.set, context.photoNames, hasCard) };
  }
  if (change.kind === "stage") {
    context.photo(change.photo);
    return { texts: {}, moves: movesToStage(change.photo, change.stage, context.photoNames) };
  }
  return { texts: await textsAfter(change, context), moves: [] };
}

/** It has a card in the picture that puts it into a set, whatever folder it lies in. */
const isOfSetByCard = (record: PhotoRecord | undefined): boolean =>
  belongsToSet(
    "photos/any.jpg",
    (record?.tags ?? []).map(({ label }) => label),
  );

async function textsAfter(
  change: Exclude<Change, { kind: "set" | "stage" }>,
  context: ChangeContext,
): Promise<FilesAfter["texts"]> {
  const { texts } = context;
  switch (change.kind) {
    case "photo":
    case "part":
    case "tooth":
    case "new part":
    case "as measured":
    case "face height": {
      const { sha256, record } = context.photo(change.photo);
      if (sha256 === undefined) throw new PageError("not-found", "this photograph cannot be read");
      const after = withChange(texts.corrections, change, { name: change.photo, sha256, record });
      return { corrections: checked(correctionsText(after), readCorrectionsFile) };
    }
    case "done": {
      const others = texts.corrections.done.filter((key) => key !== change.key);
      const done = change.done ? [...others, change.key] : others;
      return { corrections: correctionsText({ ...texts.corrections, done }) };
    }
    case "statement":
      return {
        survey: checked(
          withYamlValue(texts.textOf("survey") ?? "", change.path, change.value),
          readSurveyFile,
        ),
      };
    case "new movement":
      return {
        movement: texts.textOf("movement") ?? newMovementText(context.correctedPhotos()),
        ...withTrains(texts),
      };
    case "movement text":
      // What a person wrote is kept, mistakes and all: the page shows them beside the text.
      return { movement: change.text, ...withTrains(texts) };
    case "movement": {
      const before = texts.textOf("movement") ?? "trains:\n";
      const movement = change.set.reduce((text, { path, value }) => withYamlValue(text, path, value), before);
      const { readMovement } = await import("../../trains/index.js");
      const reading = readMovement(movement);
      if (!reading.ok) throw new PageError("invalid", reading.mistakes[0]?.text ?? "this is no movement");
      return { movement, ...withTrains(texts) };
    }
    default:
      return change satisfies never;
  }
}

/** survey.yaml must name the movement file, or the report would not know of it. */
function withTrains(texts: SurveyTexts): { survey?: string } {
  if (texts.survey.trains !== undefined) return {};
  return { survey: withYamlValue(texts.textOf("survey") ?? "", ["trains"], usualMovementName) };
}

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

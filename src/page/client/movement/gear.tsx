import type { JSX } from "preact";
import type { GearState, MissingCounts } from "../../wire.js";
import { useSurvey } from "../survey.js";
import { answerWords, type TakeAnswer } from "./missing-counts.js";

/** Answers shown where a count is missing; the whole table stands below the trains. */
const mostHere = 3;

/** One count of a train: written, from the photographs, or lost; and what speaks against it. */
export function Gear(props: {
  readonly gear: GearState;
  readonly missing: MissingCounts | undefined;
  readonly onSet: (count: number | "?") => void;
  readonly onAnswer: TakeAnswer;
}): JSX.Element {
  const { gear, missing, onSet, onAnswer } = props;
  const { tell } = useSurvey();
  const words = gear.part === "pinion" ? "leaves" : "teeth";
  const now = gear.written === undefined ? "" : String(gear.written);
  return (
    <div class={`gear ${gear.missing ? "missing" : ""} ${gear.conflict ? "conflict" : ""}`}>
      <label>
        <span>
          {gear.part}, {words}
        </span>
        <input
          key={now}
          class="count-input"
          inputMode="numeric"
          maxLength={4}
          defaultValue={now}
          placeholder={gear.fromPhotographs === undefined ? "?" : String(gear.fromPhotographs)}
          aria-label={`${gear.words}: ${words}`}
          onChange={(event) => {
            const text = event.currentTarget.value.trim();
            if (text === "" || text === "?") onSet("?");
            else if (/^\d{1,4}$/.test(text) && Number(text) > 0) onSet(Number(text));
            else {
              event.currentTarget.value = now;
              tell(`Expected a number of ${words}, or “?” for a lost one.`);
            }
          }}
        />
      </label>
      {gear.fromPhotographs !== undefined && <small>from the photographs</small>}
      {gear.conflict && (
        <p class="flag">
          The photographs say {gear.seen[0]?.count}.{" "}
          <button type="button" onClick={() => onSet("?")}>
            Take theirs
          </button>
        </p>
      )}
      {gear.weighed && <p class="flag">With the train: {gear.weighed.count}</p>}
      {gear.missing && (
        <div class="answers-here">
          <p class="flag">
            {missing === undefined || missing.answers.length === 0 ? "Not known." : "Not known. It may be"}
          </p>
          {missing?.answers.slice(0, mostHere).map((answer) => (
            <button key={answerWords(answer, missing.gears)} type="button" onClick={() => onAnswer(answer)}>
              {answerWords(answer, missing.gears)}
              {answer.exact ? ", exact" : ""}
            </button>
          ))}
          {missing !== undefined && missing.found > mostHere && (
            <small>{missing.found - mostHere} more below, with what they would do</small>
          )}
        </div>
      )}
    </div>
  );
}

import type { JSX } from "preact";
import type { MissingAnswer, MissingCounts } from "../../wire.js";

export type TakeAnswer = (answer: MissingAnswer) => void;

/** "7", or with several lost counts "wheel 64 and pinion 8". */
export const answerWords = (answer: MissingAnswer, gears: MissingCounts["gears"]): string =>
  gears.length === 1
    ? String(answer.counts[0]?.count ?? "")
    : answer.counts
        .map(({ position, count }) => `${position.split(".").slice(1).join(" ")} ${count}`)
        .join(" and ");

/** Keys of a gear's count in the movement file. */
export function gearPath(position: string): string[] {
  const [train = "", ...rest] = position.split(".");
  return train === "motion work"
    ? ["motion work", ...rest]
    : ["trains", train, "arbors", rest.slice(0, -1).join("."), rest.at(-1) ?? ""];
}

/** Everything that is missing: what it may have been, with what each answer would do, or why nothing says it. */
export function MissingTables(props: {
  readonly all: readonly MissingCounts[];
  readonly onAnswer: TakeAnswer;
}): JSX.Element | null {
  const { all, onAnswer } = props;
  if (all.length === 0) return null;
  const unsolved = all.filter(({ problem }) => problem !== undefined);
  return (
    <section class="missing-counts" aria-label="Counts that are missing">
      <h2>What is missing</h2>
      {all
        .filter(({ answers }) => answers.length > 0)
        .map((missing) => (
          <MissingTable key={keyOf(missing)} missing={missing} onAnswer={onAnswer} />
        ))}
      {unsolved.length > 0 && (
        <ul>
          {unsolved.map((missing) => (
            <li key={keyOf(missing)}>
              {missing.problem!.text}; <span class="quiet">{missing.problem!.advice}</span>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}

const keyOf = ({ gears }: MissingCounts): string => gears.map(({ position }) => position).join();
const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

function MissingTable(props: {
  readonly missing: MissingCounts;
  readonly onAnswer: TakeAnswer;
}): JSX.Element {
  const { missing, onAnswer } = props;
  return (
    <table>
      <caption>
        {capital(missing.gears.map(({ words }) => words).join(" and "))}: best of {missing.found} answers
        {missing.used.length > 0 ? `, narrowed down by ${missing.used.join("; ")}` : ""}. Check against the
        mating part before cutting.
      </caption>
      <thead>
        <tr>
          <th scope="col">Counts</th>
          <th scope="col">Beats per hour</th>
          <th scope="col">Gains, s per day</th>
          <th scope="col">Take it</th>
        </tr>
      </thead>
      <tbody>
        {missing.answers.map((answer) => {
          const words = answerWords(answer, missing.gears);
          return (
            <tr key={words}>
              <th scope="row">
                {words}
                {answer.exact ? " (exact)" : ""}
                {answer.remarks.length > 0 && <small class="quiet"> {answer.remarks.join("; ")}</small>}
              </th>
              <td>{answer.beatsPerHour === undefined ? "" : Number(answer.beatsPerHour.toFixed(2))}</td>
              <td>{answer.gainsSecondsPerDay === undefined ? "" : answer.gainsSecondsPerDay.toFixed(0)}</td>
              <td>
                <button type="button" onClick={() => onAnswer(answer)}>
                  Write {words}
                </button>
              </td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}

import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { SetRecord } from "../../../record/index.js";
import type { TodoItem, TodoState } from "../../wire.js";
import { ask, surveyPath } from "../ask.js";
import { routeTo } from "../route.js";
import { useSurvey } from "../survey.js";
import { quantityWords, severityWords } from "../words.js";

/** Everything that was found, as a list to tick off; and the sets of photographs. */
export function TodoScreen(): JSX.Element {
  const { state, version, change } = useSurvey();
  const [todo, setTodo] = useState<TodoState>();
  useEffect(() => {
    let gone = false;
    ask<TodoState>(surveyPath(state.name, "todo")).then(
      (found) => gone || setTodo(found),
      () => undefined,
    );
    return () => {
      gone = true;
    };
  }, [state.name, version]);
  const open = (todo?.items ?? []).filter(({ done }) => !done);
  const done = (todo?.items ?? []).filter((item) => item.done);
  const tick = (item: TodoItem): void =>
    void change({ kind: "done", key: item.key, done: !item.done }).catch(() => undefined);
  return (
    <>
      <h1>To do</h1>
      {todo && (
        <p role="status">
          {open.length === 0 ? "Nothing is left." : `${open.length} left`}
          {done.length > 0 ? `, ${done.length} done.` : open.length === 0 ? "" : "."}
        </p>
      )}
      {(["fault", "watch", "note"] as const).map((severity) => {
        const items = open.filter((item) => item.severity === severity);
        return (
          items.length > 0 && (
            <section key={severity} aria-label={severityWords[severity]}>
              <h2>{{ fault: "Faults", watch: "To watch", note: "Notes" }[severity]}</h2>
              <Items items={items} survey={state.name} tick={tick} />
            </section>
          )
        );
      })}
      {done.length > 0 && (
        <details>
          <summary>Done ({done.length})</summary>
          <Items items={done} survey={state.name} tick={tick} />
        </details>
      )}
      {(todo?.sets ?? []).length > 0 && (
        <section aria-label="Sets of photographs">
          <h2>Sets of photographs</h2>
          {todo!.sets.map((set, i) => (
            <SetFacts key={i} set={set} />
          ))}
        </section>
      )}
    </>
  );
}

function Items(props: {
  readonly items: readonly TodoItem[];
  readonly survey: string;
  readonly tick: (item: TodoItem) => void;
}): JSX.Element {
  const { items, survey, tick } = props;
  return (
    <ul class="todo">
      {items.map((item) => {
        const to =
          item.photo !== undefined
            ? routeTo(survey, "photo", item.photo)
            : item.about === "movement"
              ? routeTo(survey, "movement")
              : undefined;
        return (
          <li key={item.key} class={item.severity}>
            <label>
              <input type="checkbox" checked={item.done} onChange={() => tick(item)} />
              <span>
                {item.text}
                {item.advice !== undefined && <span class="advice">. To do: {item.advice}.</span>}
              </span>
            </label>
            {to !== undefined && (
              <a class="button" href={to} aria-label={`Look: ${item.text}`}>
                Look
              </a>
            )}
          </li>
        );
      })}
    </ul>
  );
}

const setWords = { turn: "Turn set", play: "Play set", height: "Height set" } as const;
const setQuantities = [
  ["eccentricity_mm", "Eccentricity about the arbor", "mm"],
  ["radial_play_mm", "Radial play", "mm"],
  ["twist_deg", "Twist", "°"],
  ["rock_deg", "Rock", "°"],
  ["face_height_mm", "Height of the face", "mm"],
] as const;

function SetFacts({ set }: { set: SetRecord }): JSX.Element {
  return (
    <div class="set">
      <h3>
        {setWords[set.kind]} {set.label ?? ""}
      </h3>
      {set.verdict !== undefined && (
        <p>
          <strong>{set.verdict}</strong>
        </p>
      )}
      <dl>
        {setQuantities.map(([key, words, unit]) => {
          const q = set[key];
          return (
            q && (
              <div key={key}>
                <dt>{words}</dt>
                <dd>
                  {quantityWords(q)} {unit}
                </dd>
              </div>
            )
          );
        })}
        <div>
          <dt>Photographs</dt>
          <dd>
            <bdi>{set.photos.map((file) => file.split("/").at(-1)).join(", ")}</bdi>
          </dd>
        </div>
      </dl>
    </div>
  );
}

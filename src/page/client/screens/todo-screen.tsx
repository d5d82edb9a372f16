import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { TodoItem, TodoState } from "../../wire.js";
import { ask, surveyPath } from "../ask.js";
import { routeTo } from "../route.js";
import { useSurvey } from "../survey.js";
import { severityWords } from "../words.js";

/** Everything that was found, as a list to tick off. */
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
              : item.about === "set"
                ? routeTo(survey, "sets")
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

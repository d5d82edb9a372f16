import type { JSX } from "preact";
import type { ArborState, Change, TrainState } from "../../wire.js";

/** What an arbor carries besides its gears: escape wheel, hands, pins, fly; and its end. */
export function ArborMore(props: {
  readonly train: TrainState;
  readonly arbor: ArborState;
  readonly make: (change: Change) => void;
}): JSX.Element {
  const { train, arbor, make } = props;
  const path = ["trains", train.name, "arbors", arbor.name];
  const set = (key: string, value: string | number | boolean | null): void =>
    make({ kind: "movement", set: [{ path: [...path, key], value }] });
  const wheel = arbor.gears.find(({ part }) => part === "wheel" || part === "escape wheel");
  const isEscape = wheel?.part === "escape wheel";
  const count = (words: string, part: string): JSX.Element => (
    <SmallCount words={words} arbor={arbor} part={part} onSet={(n) => set(part, n)} />
  );
  const toggle = (words: string, key: string): JSX.Element => (
    <button
      type="button"
      aria-pressed={arbor.also.includes(key)}
      onClick={() => set(key, arbor.also.includes(key) ? null : true)}
    >
      {words}
    </button>
  );
  return (
    <details>
      <summary>More</summary>
      <div class="row">
        {train.duty === "time" && wheel && (
          <button
            type="button"
            aria-pressed={isEscape}
            onClick={() =>
              make({
                kind: "movement",
                set: [
                  { path: [...path, wheel.part], value: null },
                  { path: [...path, isEscape ? "wheel" : "escape wheel"], value: wheel.written ?? "?" },
                ],
              })
            }
          >
            Escape wheel
          </button>
        )}
        {train.duty === "time" &&
          (["minute", "seconds"] as const).map((hand) => (
            <button
              key={hand}
              type="button"
              aria-pressed={arbor.hand === hand}
              onClick={() => set("hand", arbor.hand === hand ? null : hand)}
            >
              {hand} hand
            </button>
          ))}
        {train.duty !== "time" && (
          <>
            {count("lifting pins", "pins")}
            {count("locking places", "locks")}
            {count("warning pins", "warning")}
            {toggle("Count wheel", "count wheel")}
            {toggle("Fly", "fly")}
          </>
        )}
        <button type="button" onClick={() => make({ kind: "movement", set: [{ path, value: null }] })}>
          Remove this arbor
        </button>
      </div>
    </details>
  );
}

function SmallCount(props: {
  readonly words: string;
  readonly part: string;
  readonly arbor: ArborState;
  readonly onSet: (count: number | null) => void;
}): JSX.Element {
  const { words, part, arbor, onSet } = props;
  const now = arbor.also.find((text) => text.startsWith(`${part}: `))?.slice(part.length + 2) ?? "";
  return (
    <label class="inline">
      {words}
      <input
        key={now}
        class="count-input"
        inputMode="numeric"
        maxLength={3}
        defaultValue={now}
        onChange={(event) => {
          const text = event.currentTarget.value.trim();
          onSet(/^\d{1,3}$/.test(text) && Number(text) > 0 ? Number(text) : null);
        }}
      />
    </label>
  );
}

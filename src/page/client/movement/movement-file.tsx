import type { JSX } from "preact";
import type { Change, MovementState } from "../../wire.js";
import { Field } from "../field.js";
import { useSurvey } from "../survey.js";

/** Trains that the movement does not have yet, to begin. */
export function AddTrain(props: {
  readonly movement: MovementState;
  readonly make: (change: Change) => void;
}): JSX.Element | null {
  const { movement, make } = props;
  const left = (["time", "strike", "chime"] as const).filter((duty) =>
    movement.trains.every((train) => train.duty !== duty),
  );
  if (left.length === 0 || movement.mistakes.length > 0) return null;
  return (
    <p class="row">
      {left.map((duty) => (
        <button
          key={duty}
          type="button"
          onClick={() =>
            make({
              kind: "movement",
              set: [{ path: ["trains", duty], value: { arbors: { great: { wheel: "?" } } } }],
            })
          }
        >
          Add a {duty} train
        </button>
      ))}
    </p>
  );
}

export function Mistakes({ movement }: { movement: MovementState }): JSX.Element | null {
  if (movement.mistakes.length === 0) return null;
  return (
    <div class="message fault">
      <p>The movement file cannot be understood:</p>
      <ul>
        {movement.mistakes.map(({ line, text }) => (
          <li key={text}>{line === undefined ? text : `line ${line}: ${text}`}</li>
        ))}
      </ul>
    </div>
  );
}

/** The file itself, for everything that has no button. */
export function MovementText({ movement }: { movement: MovementState }): JSX.Element {
  const { change, state } = useSurvey();
  return (
    <details>
      <summary>The movement file</summary>
      <Field
        label="movement.yaml"
        rows={24}
        value={movement.text}
        draftKey={`${state.name} movement`}
        save={(text) => change({ kind: "movement text", text })}
      />
    </details>
  );
}

import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { Change, MovementState, TrainState } from "../../wire.js";
import { Field } from "../field.js";
import { useSurvey } from "../survey.js";
import { Arbor } from "./arbor.js";
import type { TakeAnswer } from "./missing-counts.js";
import type { PutPart, Sighting } from "./sightings.js";

/** One train: what it comes to, and its arbors. */
export function Train(props: {
  readonly train: TrainState;
  readonly movement: MovementState;
  readonly sightings: readonly Sighting[];
  readonly put: PutPart;
  readonly make: (change: Change) => void;
  readonly onAnswer: TakeAnswer;
}): JSX.Element {
  const { train, movement, sightings, put, make, onAnswer } = props;
  const { state } = useSurvey();
  return (
    <section class="train" aria-label={`${train.name} train`}>
      <div class="train-head">
        <h2>{train.name} train</h2>
        <dl class="figures" aria-live="polite">
          {train.figures.map((figure) => (
            <div key={figure.name}>
              <dd>{figure.value}</dd>
              <dt>{figure.name}</dt>
            </div>
          ))}
        </dl>
      </div>
      <ol class="arbors">
        {train.arbors.map((arbor) => (
          <Arbor
            key={arbor.name}
            movement={movement}
            train={train}
            arbor={arbor}
            sightings={sightings.filter(({ part }) => part.label !== undefined && part.label === arbor.tag)}
            survey={state.name}
            put={put}
            make={make}
            onAnswer={onAnswer}
          />
        ))}
      </ol>
      <div class="fields">
        {(train.power === undefined || train.power === "turns") && <Turns train={train} />}
        <NewArbor train={train} make={make} />
      </div>
    </section>
  );
}

function Turns({ train }: { train: TrainState }): JSX.Element {
  const { change, state } = useSurvey();
  return (
    <Field
      label="Turns of the first arbor in one winding"
      inputMode="decimal"
      value={train.powerTurns === undefined ? "" : String(train.powerTurns)}
      draftKey={`${state.name} ${train.name} turns`}
      save={(text) => {
        const turns = Number(text.trim().replace(",", "."));
        if (text.trim() !== "" && !(turns > 0 && turns <= 1000))
          return Promise.reject(new Error("Expected turns above 0 and up to 1000."));
        const value = text.trim() === "" ? null : { turns };
        return change({ kind: "movement", set: [{ path: ["trains", train.name, "power"], value }] });
      }}
    />
  );
}

function NewArbor({ train, make }: { train: TrainState; make: (change: Change) => void }): JSX.Element {
  const [name, setName] = useState("");
  return (
    <form
      class="field"
      onSubmit={(event) => {
        event.preventDefault();
        if (name.trim() === "") return;
        const path = ["trains", train.name, "arbors", name.trim()];
        make({ kind: "movement", set: [{ path, value: { pinion: "?", wheel: "?" } }] });
        setName("");
      }}
    >
      <label for={`add-${train.name}`}>Another arbor up the {train.name} train</label>
      <div class="row nowrap">
        <input
          id={`add-${train.name}`}
          value={name}
          maxLength={40}
          placeholder="name"
          onInput={(e) => setName(e.currentTarget.value)}
        />
        <button type="submit">Add arbor</button>
      </div>
    </form>
  );
}

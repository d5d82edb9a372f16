import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { ArborState, Change, MovementState, TrainState } from "../../wire.js";
import { ArborMore } from "./arbor-more.js";
import { FindingList } from "./finding-list.js";
import { Gear } from "./gear.js";
import { gearPath, type TakeAnswer } from "./missing-counts.js";
import { PartCard } from "./part-card.js";
import { dragsPart, dropPart, type PutPart, type Sighting } from "./sightings.js";

/** An arbor of a train: its counts, the parts that were photographed in its place, and what is wrong there. */
export function Arbor(props: {
  readonly movement: MovementState;
  readonly train: TrainState;
  readonly arbor: ArborState;
  readonly sightings: readonly Sighting[];
  readonly survey: string;
  readonly put: PutPart;
  readonly make: (change: Change) => void;
  readonly onAnswer: TakeAnswer;
}): JSX.Element {
  const { movement, train, arbor, sightings, survey, put, make, onAnswer } = props;
  const [over, setOver] = useState(false);
  const here = `${train.name}.${arbor.name}.`;
  const findings = (movement.result?.findings ?? []).filter(({ position }) => position?.startsWith(here));
  return (
    <li
      class={over ? "arbor over" : "arbor"}
      data-tag={arbor.tag}
      onDragOver={(event) => {
        if (arbor.tag === undefined || !dragsPart(event)) return;
        event.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={(event) => {
        setOver(false);
        dropPart(event, (photo, part) => put(photo, part, arbor.tag!));
      }}
    >
      <div class="arbor-name">
        <strong>{arbor.name}</strong>
        {arbor.tag !== undefined && <span class="chip-label">{arbor.tag}</span>}
        {arbor.turns !== undefined && <span class="quiet">{arbor.turns}</span>}
        {arbor.hand !== undefined && <span class="quiet">{arbor.hand} hand</span>}
        {arbor.also.map((words) => (
          <span key={words} class="quiet">
            {words}
          </span>
        ))}
      </div>
      <div class="gears">
        {arbor.gears.map((gear) => (
          <Gear
            key={gear.position}
            gear={gear}
            missing={movement.missing.find(({ gears }) =>
              gears.some(({ position }) => position === gear.position),
            )}
            onSet={(value) => make({ kind: "movement", set: [{ path: gearPath(gear.position), value }] })}
            onAnswer={onAnswer}
          />
        ))}
      </div>
      <Sightings arbor={arbor} sightings={sightings} survey={survey} put={put} />
      <FindingList findings={findings} />
      <ArborMore train={train} arbor={arbor} make={make} />
    </li>
  );
}

/** So many photographs of a part stand beside its counts at once. */
const mostShown = 4;

function Sightings(props: {
  readonly arbor: ArborState;
  readonly sightings: readonly Sighting[];
  readonly survey: string;
  readonly put: PutPart;
}): JSX.Element | null {
  const { arbor, sightings, survey, put } = props;
  const [all, setAll] = useState(false);
  if (arbor.tag === undefined) return null;
  if (sightings.length === 0)
    return <p class="quiet no-part">No photograph of {arbor.tag}: drag a part here.</p>;
  const shown = all ? sightings : sightings.slice(0, mostShown);
  return (
    <ul class="tray-parts" aria-label={`Parts at ${arbor.tag}`}>
      {shown.map((each) => (
        <PartCard
          key={`${each.photo} ${each.part.id}`}
          small
          sighting={each}
          survey={survey}
          onPlace={(label) => put(each.photo, each.part.id, label)}
        />
      ))}
      {sightings.length > mostShown && (
        <li>
          <button type="button" aria-expanded={all} onClick={() => setAll(!all)}>
            {all ? "Fewer" : `${sightings.length - mostShown} more`}
          </button>
        </li>
      )}
    </ul>
  );
}

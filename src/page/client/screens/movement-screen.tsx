import type { JSX } from "preact";
import type { Change, MissingAnswer, MovementState } from "../../wire.js";
import { surveyPath } from "../ask.js";
import { FindingList } from "../movement/finding-list.js";
import { gearPath, MissingTables } from "../movement/missing-counts.js";
import { AddTrain, Mistakes, MovementText } from "../movement/movement-file.js";
import { PartCard } from "../movement/part-card.js";
import { dragsPart, dropPart, sightingsOf, type PutPart, type Sighting } from "../movement/sightings.js";
import { Train } from "../movement/train.js";
import { placesOf, useMovement } from "../place-choice.js";
import { useSurvey } from "../survey.js";

/** The trains: parts in their places, and what the counts say. */
export function MovementScreen(): JSX.Element {
  const { state, change } = useSurvey();
  const movement = useMovement();
  const { revisions, progress } = state;
  const drawn = [revisions.movement, revisions.corrections, progress.done].join("-");
  const make = (wanted: Change): void => void change(wanted).catch(() => undefined);
  if (!movement) return <h1>Movement</h1>;
  if (!movement.exists)
    return (
      <>
        <h1>Movement</h1>
        <p>
          There is no movement yet. One is begun from the tags of the parts; every count stays open until you
          write it.
        </p>
        <button type="button" class="main" onClick={() => make({ kind: "new movement" })}>
          Begin the movement
        </button>
      </>
    );
  const sightings = sightingsOf(state.photos);
  const put: PutPart = (photo, part, label) => make({ kind: "part", photo, part, set: { label } });
  const takeAnswer = ({ counts }: MissingAnswer): void =>
    make({
      kind: "movement",
      set: counts.map(({ position, count }) => ({ path: gearPath(position), value: count })),
    });
  return (
    <>
      <h1>Movement</h1>
      <Mistakes movement={movement} />
      {movement.verdict !== undefined && <p class="message fault">{movement.verdict}</p>}
      <Tray movement={movement} sightings={sightings} survey={state.name} put={put} />
      {movement.trains.map((train) => (
        <Train
          key={train.name}
          train={train}
          movement={movement}
          sightings={sightings}
          put={put}
          make={make}
          onAnswer={takeAnswer}
        />
      ))}
      <MissingTables all={movement.missing} onAnswer={takeAnswer} />
      {movement.trains.length > 0 && (
        <figure class="drawing">
          <img
            src={`${surveyPath(state.name, "movement", "drawing.svg")}?v=${drawn}`}
            alt="Elevation of the trains with their counts"
          />
        </figure>
      )}
      <Elsewhere movement={movement} />
      <AddTrain movement={movement} make={make} />
      <MovementText movement={movement} />
    </>
  );
}

function Tray(props: {
  readonly movement: MovementState;
  readonly sightings: readonly Sighting[];
  readonly survey: string;
  readonly put: PutPart;
}): JSX.Element {
  const { movement, sightings, survey, put } = props;
  const places = new Set(placesOf(movement).map(({ label }) => label));
  const tray = sightings.filter(({ part }) => part.label === undefined || !places.has(part.label));
  return (
    <section
      class={tray.length === 0 ? "tray" : "tray at-hand"}
      aria-label="Parts without a place"
      onDragOver={(event) => dragsPart(event) && event.preventDefault()}
      onDrop={(event) => dropPart(event, (photo, part) => put(photo, part, ""))}
    >
      <h2>Parts without a place</h2>
      {tray.length === 0 ? (
        <p class="quiet">Every part has its place. Drag one here to take it out.</p>
      ) : (
        <ul class="tray-parts">
          {tray.map((each) => (
            <PartCard
              key={`${each.photo} ${each.part.id}`}
              sighting={each}
              survey={survey}
              onPlace={(label) => put(each.photo, each.part.id, label)}
            />
          ))}
        </ul>
      )}
    </section>
  );
}

/** Findings that belong to no arbor shown above. */
function Elsewhere({ movement }: { movement: MovementState }): JSX.Element | null {
  const arbors = movement.trains.flatMap(({ name, arbors }) =>
    arbors.map((arbor) => `${name}.${arbor.name}.`),
  );
  const findings = (movement.result?.findings ?? []).filter(
    ({ position }) => position === undefined || !arbors.some((arbor) => position.startsWith(arbor)),
  );
  if (findings.length === 0) return null;
  return (
    <section aria-label="What does not agree">
      <h2>What the counts say</h2>
      <FindingList findings={findings} />
    </section>
  );
}

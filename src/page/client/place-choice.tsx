import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { MovementState } from "../wire.js";
import { ask, surveyPath } from "./ask.js";
import { useSurvey } from "./survey.js";
import { usualPlaces } from "./words.js";

/** The movement as it is now; asked for anew whenever anything changed. */
export function useMovement(): MovementState | undefined {
  const { state, version } = useSurvey();
  const [movement, setMovement] = useState<MovementState>();
  const photosDone = state.progress.done;
  useEffect(() => {
    let gone = false;
    ask<MovementState>(surveyPath(state.name, "movement")).then(
      (found) => gone || setMovement(found),
      () => undefined,
    );
    return () => {
      gone = true;
    };
  }, [
    state.name,
    state.revisions.movement,
    state.revisions.corrections,
    state.revisions.survey,
    photosDone,
    version > 0,
  ]);
  return movement;
}

/** Places of the movement, or the usual ones: what the part tags say. */
export function placesOf(
  movement: MovementState | undefined,
): readonly { readonly label: string; readonly words: string }[] {
  const own = (movement?.trains ?? []).flatMap((train) =>
    train.arbors.flatMap(({ tag, name }) =>
      tag === undefined ? [] : [{ label: tag, words: `${train.name}, ${name}` }],
    ),
  );
  const rest = usualPlaces.filter(({ label }) => own.every((each) => each.label !== label));
  return own.length === 0 ? usualPlaces : [...own, ...rest.filter(({ label }) => /^[MP]/.test(label))];
}

export function PlaceChoice(props: {
  readonly label: string | undefined;
  readonly onPlace: (label: string) => void;
  readonly id: string;
  readonly words?: string;
}): JSX.Element {
  const { label, onPlace, id, words = "Place in the movement" } = props;
  const places = placesOf(useMovement());
  const known = label === undefined || places.some((place) => place.label === label);
  return (
    <div class="field">
      <label for={id}>{words}</label>
      <select id={id} value={label ?? ""} onChange={(event) => onPlace(event.currentTarget.value)}>
        <option value="">no place</option>
        {!known && <option value={label}>{label}</option>}
        {places.map((place) => (
          <option key={place.label} value={place.label}>
            {place.label}: {place.words}
          </option>
        ))}
      </select>
    </div>
  );
}

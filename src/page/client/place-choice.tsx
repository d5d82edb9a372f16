import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { MovementState } from "../wire.js";
import { ask, surveyPath } from "./ask.js";
import { useSurvey } from "./survey.js";
import { usualPlaces } from "./words.js";

/** Many fields of a screen ask for the same: one request answers them all. */
let latest: { readonly key: string; readonly movement: Promise<MovementState> } | undefined;

function movementOf(survey: string, stamp: string): Promise<MovementState> {
  const key = `${survey} ${stamp}`;
  if (latest?.key === key) return latest.movement;
  const movement = ask<MovementState>(surveyPath(survey, "movement"));
  latest = { key, movement };
  // An answer that did not come is asked for again.
  movement.catch(() => {
    if (latest?.movement === movement) latest = undefined;
  });
  return movement;
}

/** The movement as it is now; asked for anew whenever anything changed that it hangs on. */
export function useMovement(): MovementState | undefined {
  const { state } = useSurvey();
  const [movement, setMovement] = useState<MovementState>();
  const { movement: own, corrections, survey } = state.revisions;
  const stamp = [own, corrections, survey, state.progress.done, state.photos.length].join(" ");
  useEffect(() => {
    let gone = false;
    movementOf(state.name, stamp).then(
      (found) => gone || setMovement(found),
      () => undefined,
    );
    return () => {
      gone = true;
    };
  }, [state.name, stamp]);
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

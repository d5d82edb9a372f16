import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Change, SetState } from "../../wire.js";
import { ask, surveyPath } from "../ask.js";
import { NewSet } from "../sets/new-set.js";
import { SetCard } from "../sets/set-card.js";
import { useSurvey } from "../survey.js";

/** Photographs of one wheel that are evaluated together: is it true, is it tight, how high is it? */
export function SetsScreen(): JSX.Element {
  const { state, version, change } = useSurvey();
  const { name, photos } = state;
  const [sets, setSets] = useState<readonly SetState[]>();
  useEffect(() => {
    let gone = false;
    ask<readonly SetState[]>(surveyPath(name, "sets")).then(
      (found) => gone || setSets(found),
      () => undefined,
    );
    return () => {
      gone = true;
    };
  }, [name, version]);
  // What was refused is told in the messages above.
  const make = (wanted: Change): Promise<void> => change(wanted);
  const taken = new Set((sets ?? []).flatMap((set) => set.photos));
  const free = photos.filter((photo) => !taken.has(photo.name) && photo.state !== "left out");
  return (
    <>
      <h1>Sets of photographs</h1>
      <p>
        One photograph often cannot say whether a wheel runs true on its arbor, or is tight on it. Several of
        the same wheel can.
      </p>
      {sets?.map((set) => (
        <SetCard
          key={`${set.kind} ${set.label ?? ""} ${set.photos[0]}`}
          survey={name}
          set={set}
          photos={photos}
          free={free}
          make={make}
        />
      ))}
      {sets !== undefined &&
        (free.length > 0 ? (
          <NewSet survey={name} free={free} make={make} />
        ) : (
          <p class="quiet">Every photograph belongs to a set. Add others to make one more.</p>
        ))}
    </>
  );
}

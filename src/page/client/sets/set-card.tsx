import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { Change, PhotoSummary, SetState } from "../../wire.js";
import { picturePath, post, surveyPath } from "../ask.js";
import { routeTo } from "../route.js";
import { PhotoChoice } from "./photo-choice.js";
import { SetResult } from "./set-result.js";
import { leastPhotos, setHelp, setTitle, stateWords } from "./set-words.js";

/** One set: what it says, and the photographs it is made of. */
export function SetCard(props: {
  readonly survey: string;
  readonly set: SetState;
  readonly photos: readonly PhotoSummary[];
  /** Photographs that belong to no set. */
  readonly free: readonly PhotoSummary[];
  readonly make: (change: Change) => Promise<void>;
}): JSX.Element {
  const { survey, set, photos, free, make } = props;
  const [chosen, setChosen] = useState<ReadonlySet<string>>(new Set());
  const members = set.photos.map((name) => photos.find((photo) => photo.name === name) ?? { name });
  const name = { kind: set.kind, ...(set.label === undefined ? {} : { label: set.label }) };
  const short = leastPhotos[set.kind] - set.photos.length;
  return (
    <section class="set" aria-label={setTitle(set)}>
      <h2>
        {setTitle(set)} <span class="quiet">{setHelp[set.kind].asks}</span>
      </h2>
      {short > 0 && (
        <p class="message watch">
          {short === 1 ? "One more photograph is" : `${short} more photographs are`} needed.{" "}
          <strong>{setHelp[set.kind].how}</strong>
        </p>
      )}
      {set.state !== "done" && (
        <p role="status">
          {stateWords[set.state]}{" "}
          {set.state === "stopped" && (
            <button type="button" onClick={() => void post(surveyPath(survey, "measure"))}>
              Go on
            </button>
          )}
        </p>
      )}
      {set.results.map((result, i) => (
        <SetResult key={i} survey={survey} result={result} />
      ))}
      <h3>Its photographs</h3>
      <ol class="set-photos">
        {members.map((photo) => (
          <li key={photo.name}>
            <a href={routeTo(survey, "photo", photo.name)}>
              <span class="thumb">
                {"sha256" in photo && photo.sha256 !== undefined && (
                  <img src={picturePath(survey, photo.name, photo.sha256, "small")} alt="" loading="lazy" />
                )}
              </span>
              <bdi>{photo.name.split("/").at(-1)}</bdi>
            </a>
            <button
              type="button"
              aria-label={`Take out ${photo.name}`}
              onClick={() =>
                void make({ kind: "set", photos: [photo.name], set: null }).catch(() => undefined)
              }
            >
              Take out
            </button>
          </li>
        ))}
      </ol>
      {set.byCard.length > 0 && (
        <p class="quiet">
          A card in the picture ({set.kind === "turn" ? "TURN" : "PLAY"}) puts a photograph into its set.
          Taken out, it goes to the folder no-set, where cards count for nothing.
        </p>
      )}
      {free.length > 0 && (
        <details>
          <summary>Add photographs to it</summary>
          <PhotoChoice
            survey={survey}
            legend={`Photographs for the ${setTitle(set)}`}
            photos={free}
            chosen={chosen}
            onChoose={setChosen}
          />
          <button
            type="button"
            class="main"
            disabled={chosen.size === 0}
            onClick={() => {
              // Photographs that cards keep together move with the new ones, or they would stay two sets.
              const others = set.photos.filter((each) => !each.includes("/"));
              void make({ kind: "set", photos: [...others, ...chosen], set: name }).then(
                () => setChosen(new Set()),
                () => undefined,
              );
            }}
          >
            Add {chosen.size === 0 ? "" : chosen.size}
          </button>
        </details>
      )}
    </section>
  );
}

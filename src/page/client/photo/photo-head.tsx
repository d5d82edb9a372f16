import type { JSX } from "preact";
import { post, surveyPath } from "../ask.js";
import { routeTo } from "../route.js";
import { useSurvey } from "../survey.js";
import { StageOfWork } from "./stage-of-work.js";

/** A photograph's name, the way to its neighbours, and what can be done with it as a whole. */
export function PhotoHead(props: {
  readonly name: string;
  readonly leftOut: boolean;
  readonly marking: boolean;
  /** Absent while there is nothing to mark a part in. */
  readonly onMark: (() => void) | undefined;
}): JSX.Element {
  const { name, leftOut, marking, onMark } = props;
  const { state, change } = useSurvey();
  const index = state.photos.findIndex((photo) => photo.name === name);
  const neighbour = (by: number, words: string): JSX.Element => {
    const to = state.photos[index + by]?.name;
    return to === undefined ? (
      <span class="button disabled" aria-disabled="true">
        {words}
      </span>
    ) : (
      <a class="button" href={routeTo(state.name, "photo", to)}>
        {words}
      </a>
    );
  };
  return (
    <div class="photo-head">
      <h1>
        <bdi>{name}</bdi>
      </h1>
      <nav class="row" aria-label="Photographs">
        {neighbour(-1, "Previous")}
        {neighbour(1, "Next")}
      </nav>
      <div class="row">
        <button
          type="button"
          onClick={() => void post(surveyPath(state.name, "measure"), { photos: [name] })}
        >
          Measure again
        </button>
        <button
          type="button"
          aria-pressed={leftOut}
          onClick={() =>
            void change({ kind: "photo", photo: name, leftOut: !leftOut }).catch(() => undefined)
          }
        >
          {leftOut ? "Take in again" : "Leave out"}
        </button>
        <button type="button" aria-pressed={marking} disabled={!onMark} onClick={onMark}>
          {marking ? "Click the middle of the part" : "Mark a part"}
        </button>
        <StageOfWork photo={name} />
      </div>
    </div>
  );
}

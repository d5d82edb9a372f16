import type { JSX } from "preact";
import { picturePath } from "../ask.js";
import { Chip } from "../chip.js";
import { PlaceChoice } from "../place-choice.js";
import { routeTo } from "../route.js";
import { kindWords } from "../words.js";
import { startDrag, type Sighting } from "./sightings.js";

/** A part to drag to its place, or to send there from its list. */
export function PartCard(props: {
  readonly sighting: Sighting;
  readonly survey: string;
  readonly onPlace: (label: string) => void;
  /** It has its place: shown beside the counts. */
  readonly small?: boolean;
}): JSX.Element {
  const { sighting, survey, onPlace, small } = props;
  const { photo, part, sha256, size } = sighting;
  const id = `place-${photo}-${part.id}`.replace(/[^\w-]/g, "_");
  return (
    <li
      class={small ? "part-card small" : "part-card"}
      draggable
      onDragStart={(event) => startDrag(event, sighting)}
    >
      <a href={routeTo(survey, "photo", photo)} draggable={false} title={`${part.id} in ${photo}`}>
        {part.box && size && sha256 !== undefined && (
          <svg class="crop" viewBox={part.box.concat(part.box[2]).join(" ")} aria-hidden="true">
            <image href={picturePath(survey, photo, sha256, "middle")} width={size[0]} height={size[1]} />
          </svg>
        )}
        <Chip part={part} />
        <span class="quiet photo-of">
          {kindWords[part.kind]}, <bdi>{photo}</bdi>
        </span>
      </a>
      <PlaceChoice id={id} label={part.label} onPlace={onPlace} words={small ? "Move to" : "Place"} />
    </li>
  );
}

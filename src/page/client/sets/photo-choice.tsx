import type { JSX } from "preact";
import type { PhotoSummary } from "../../wire.js";
import { picturePath } from "../ask.js";
import { Chip } from "../chip.js";

/** Photographs to choose among, each a box to tick. */
export function PhotoChoice(props: {
  readonly survey: string;
  readonly legend: string;
  readonly photos: readonly PhotoSummary[];
  readonly chosen: ReadonlySet<string>;
  readonly onChoose: (chosen: ReadonlySet<string>) => void;
}): JSX.Element {
  const { survey, legend, photos, chosen, onChoose } = props;
  const turn = (name: string): void => {
    const next = new Set(chosen);
    if (!next.delete(name)) next.add(name);
    onChoose(next);
  };
  return (
    <fieldset class="choice">
      <legend>{legend}</legend>
      <ul class="choice-photos">
        {photos.map(({ name, sha256, parts }) => (
          <li key={name}>
            <label class={chosen.has(name) ? "choice-photo chosen" : "choice-photo"}>
              <span class="thumb">
                {sha256 !== undefined && (
                  <img
                    src={picturePath(survey, name, sha256, "small")}
                    alt=""
                    loading="lazy"
                    decoding="async"
                  />
                )}
              </span>
              <span class="choice-name">
                <input type="checkbox" checked={chosen.has(name)} onChange={() => turn(name)} />
                <bdi>{name}</bdi>
              </span>
              <span class="chips">
                {parts.slice(0, 4).map((part) => (
                  <Chip key={part.id} part={part} />
                ))}
              </span>
            </label>
          </li>
        ))}
      </ul>
    </fieldset>
  );
}

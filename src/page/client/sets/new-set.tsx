import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { Change, PhotoSummary, SetName } from "../../wire.js";
import { PlaceChoice } from "../place-choice.js";
import { PhotoChoice } from "./photo-choice.js";
import { leastPhotos, setHelp, setTitle, setWords } from "./set-words.js";

const kinds = ["turn", "play", "height"] as const;

/** Makes a set: what it asks, of which part, from which photographs. */
export function NewSet(props: {
  readonly survey: string;
  readonly free: readonly PhotoSummary[];
  readonly make: (change: Change) => Promise<void>;
}): JSX.Element {
  const { survey, free, make } = props;
  const [kind, setKind] = useState<SetName["kind"]>("turn");
  const [label, setLabel] = useState("");
  const [chosen, setChosen] = useState<ReadonlySet<string>>(new Set());
  const there = free.filter(({ name }) => chosen.has(name));
  // The tag that all of them show says which part it is; a person may say otherwise.
  const tags = there.map(({ parts }) => new Set(parts.flatMap((part) => part.label ?? [])));
  const common = [...(tags[0] ?? [])].filter((tag) => tags.every((each) => each.has(tag)));
  const place = label !== "" ? label : common.length === 1 ? common[0]! : "";
  const name: SetName = { kind, ...(place === "" ? {} : { label: place }) };
  const short = leastPhotos[kind] - there.length;
  return (
    <form
      class="set new-set"
      aria-label="New set"
      onSubmit={(event) => {
        event.preventDefault();
        void make({ kind: "set", photos: there.map((photo) => photo.name), set: name }).then(
          () => {
            setChosen(new Set());
            setLabel("");
          },
          () => undefined,
        );
      }}
    >
      <h2>New set</h2>
      <fieldset class="kinds">
        <legend>What do you want to know?</legend>
        {kinds.map((each) => (
          <label key={each} class={each === kind ? "kind chosen" : "kind"}>
            <input type="radio" name="set-kind" checked={each === kind} onChange={() => setKind(each)} />
            <span>
              <strong>{setHelp[each].asks}</strong> {setWords[each]}
              <span class="quiet">{setHelp[each].how}</span>
            </span>
          </label>
        ))}
      </fieldset>
      <PhotoChoice survey={survey} legend="Photographs" photos={free} chosen={chosen} onChoose={setChosen} />
      <PlaceChoice
        id="set-place"
        label={place === "" ? undefined : place}
        onPlace={setLabel}
        words="Of which part"
      />
      <p role="status" class="quiet">
        {short > 0 ? `Choose ${short} more.` : `${there.length} chosen.`}
      </p>
      <button type="submit" class="main" disabled={there.length === 0}>
        Make the {setTitle(name).replace(/^./, (c) => c.toLowerCase())}
      </button>
    </form>
  );
}

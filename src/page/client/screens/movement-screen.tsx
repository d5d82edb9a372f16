import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { ArborState, Change, GearState, MovementState, PartSummary, TrainState } from "../../wire.js";
import { picturePath, surveyPath } from "../ask.js";
import { Field } from "../field.js";
import { PlaceChoice, placesOf, useMovement } from "../place-choice.js";
import { routeTo } from "../route.js";
import { useSurvey } from "../survey.js";
import { kindWords } from "../words.js";
import { Chip } from "./photos-screen.js";

interface Sighting {
  readonly photo: string;
  readonly sha256: string | undefined;
  readonly size: readonly [number, number] | undefined;
  readonly part: PartSummary;
}

const dragType = "application/x-wheelsurvey-part";

/** The trains: parts in their places, and what the counts say. */
export function MovementScreen(): JSX.Element {
  const { state, change, version } = useSurvey();
  const movement = useMovement();
  const make = (wanted: Change): void => void change(wanted).catch(() => undefined);
  const sightings = state.photos.flatMap(
    ({ name, sha256, parts, state: photoState, widthPx, heightPx }): Sighting[] =>
      photoState === "left out"
        ? []
        : parts.map((part) => ({
            photo: name,
            sha256,
            size: widthPx === undefined || heightPx === undefined ? undefined : [widthPx, heightPx],
            part,
          })),
  );
  const places = new Set(placesOf(movement).map(({ label }) => label));
  const tray = sightings.filter(({ part }) => part.label === undefined || !places.has(part.label));
  const place = (photo: string, part: string, label: string): void =>
    make({ kind: "part", photo, part, set: { label } });
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
  return (
    <>
      <h1>Movement</h1>
      {movement.mistakes.length > 0 && (
        <div class="message fault">
          <p>The movement file cannot be understood:</p>
          <ul>
            {movement.mistakes.map(({ line, text }) => (
              <li key={text}>{line === undefined ? text : `line ${line}: ${text}`}</li>
            ))}
          </ul>
        </div>
      )}
      {movement.verdict !== undefined && <p class="message fault">{movement.verdict}</p>}
      <section
        class="tray"
        aria-label="Parts without a place"
        onDragOver={(event) => event.dataTransfer?.types.includes(dragType) && event.preventDefault()}
        onDrop={(event) => drop(event, (photo, part) => place(photo, part, ""))}
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
                survey={state.name}
                onPlace={(label) => place(each.photo, each.part.id, label)}
              />
            ))}
          </ul>
        )}
      </section>
      {movement.trains.map((train) => (
        <Train
          key={train.name}
          train={train}
          movement={movement}
          sightings={sightings}
          survey={state.name}
          onPlace={place}
          make={make}
        />
      ))}
      <Missing movement={movement} make={make} />
      {movement.trains.length > 0 && (
        <figure class="drawing">
          <img
            src={`${surveyPath(state.name, "movement", "drawing.svg")}?v=${version}`}
            alt="Elevation of the trains with their counts"
          />
        </figure>
      )}
      <TrainFindings movement={movement} />
      <AddTrain movement={movement} make={make} />
      <MovementText movement={movement} />
    </>
  );
}

function drop(event: DragEvent, take: (photo: string, part: string) => void): void {
  const text = event.dataTransfer?.getData(dragType);
  if (!text) return;
  event.preventDefault();
  event.stopPropagation();
  const [photo, part] = JSON.parse(text) as [string, string];
  take(photo, part);
}

function PartCard(props: {
  readonly sighting: Sighting;
  readonly survey: string;
  readonly onPlace: (label: string) => void;
  readonly small?: boolean;
}): JSX.Element {
  const { sighting, survey, onPlace, small } = props;
  const { photo, part, sha256, size } = sighting;
  const id = `place-${photo}-${part.id}`.replace(/[^\w-]/g, "_");
  return (
    <li
      class={small ? "part-card small" : "part-card"}
      draggable
      onDragStart={(event) => {
        event.dataTransfer?.setData(dragType, JSON.stringify([photo, part.id]));
        if (event.dataTransfer) event.dataTransfer.effectAllowed = "move";
      }}
    >
      <a href={routeTo(survey, "photo", photo)} draggable={false} title={`${part.id} in ${photo}`}>
        {part.box && size && sha256 !== undefined && (
          <svg class="crop" viewBox={part.box.concat(part.box[2]).join(" ")} aria-hidden="true">
            <image href={picturePath(survey, photo, sha256, "middle")} width={size[0]} height={size[1]} />
          </svg>
        )}
        <Chip part={part} />
        <span class="quiet">{kindWords[part.kind]}</span>
      </a>
      <PlaceChoice id={id} label={part.label} onPlace={onPlace} words={small ? "Move to" : "Place"} />
    </li>
  );
}

function Train(props: {
  readonly train: TrainState;
  readonly movement: MovementState;
  readonly sightings: readonly Sighting[];
  readonly survey: string;
  readonly onPlace: (photo: string, part: string, label: string) => void;
  readonly make: (change: Change) => void;
}): JSX.Element {
  const { train, sightings, survey, onPlace, make } = props;
  const { change, state } = useSurvey();
  const [name, setName] = useState("");
  const path = ["trains", train.name];
  return (
    <section class="train" aria-label={`${train.name} train`}>
      <div class="train-head">
        <h2>{train.name} train</h2>
        <dl class="figures">
          {train.figures.map((figure) => (
            <div key={figure.name}>
              <dd>{figure.value}</dd>
              <dt>{figure.name}</dt>
            </div>
          ))}
        </dl>
      </div>
      <ol class="arbors">
        {train.arbors.map((arbor) => (
          <Arbor
            key={arbor.name}
            train={train}
            arbor={arbor}
            sightings={sightings.filter(({ part }) => part.label !== undefined && part.label === arbor.tag)}
            survey={survey}
            onPlace={onPlace}
            make={make}
          />
        ))}
      </ol>
      <div class="fields">
        {(train.power === undefined || train.power === "turns") && (
          <Field
            label="Turns of the first arbor in one winding"
            inputMode="decimal"
            value={train.powerTurns === undefined ? "" : String(train.powerTurns)}
            draftKey={`${state.name} ${train.name} turns`}
            save={(text) => {
              const turns = Number(text.trim().replace(",", "."));
              if (text.trim() !== "" && !(turns > 0 && turns <= 1000))
                return Promise.reject(new Error("Expected turns above 0 and up to 1000."));
              return change({
                kind: "movement",
                path: [...path, "power"],
                value: text.trim() === "" ? null : { turns },
              });
            }}
          />
        )}
        <form
          class="field"
          onSubmit={(event) => {
            event.preventDefault();
            if (name.trim() === "") return;
            make({
              kind: "movement",
              path: [...path, "arbors", name.trim()],
              value: { pinion: "?", wheel: "?" },
            });
            setName("");
          }}
        >
          <label for={`add-${train.name}`}>Another arbor up the {train.name} train</label>
          <div class="row">
            <input
              id={`add-${train.name}`}
              value={name}
              maxLength={40}
              placeholder="name"
              onInput={(e) => setName(e.currentTarget.value)}
            />
            <button type="submit">Add arbor</button>
          </div>
        </form>
      </div>
    </section>
  );
}

function Arbor(props: {
  readonly train: TrainState;
  readonly arbor: ArborState;
  readonly sightings: readonly Sighting[];
  readonly survey: string;
  readonly onPlace: (photo: string, part: string, label: string) => void;
  readonly make: (change: Change) => void;
}): JSX.Element {
  const { train, arbor, sightings, survey, onPlace, make } = props;
  const [over, setOver] = useState(false);
  const path = ["trains", train.name, "arbors", arbor.name];
  const set = (key: string, value: string | number | boolean | null): void =>
    make({ kind: "movement", path: [...path, key], value });
  const wheel = arbor.gears.find(({ part }) => part === "wheel" || part === "escape wheel");
  const isEscape = wheel?.part === "escape wheel";
  return (
    <li
      class={over ? "arbor over" : "arbor"}
      data-tag={arbor.tag}
      onDragOver={(event) => {
        if (arbor.tag === undefined || !event.dataTransfer?.types.includes(dragType)) return;
        event.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={(event) => {
        setOver(false);
        drop(event, (photo, part) => onPlace(photo, part, arbor.tag!));
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
            onSet={(count) => set(gear.part, count)}
            path={path}
            make={make}
          />
        ))}
      </div>
      {sightings.length > 0 && (
        <ul class="tray-parts" aria-label={`Parts at ${arbor.tag}`}>
          {sightings.map((each) => (
            <PartCard
              key={`${each.photo} ${each.part.id}`}
              small
              sighting={each}
              survey={survey}
              onPlace={(label) => onPlace(each.photo, each.part.id, label)}
            />
          ))}
        </ul>
      )}
      <details>
        <summary>More</summary>
        <div class="row">
          {train.duty === "time" && wheel && (
            <button
              type="button"
              aria-pressed={isEscape}
              onClick={() => {
                make({ kind: "movement", path: [...path, wheel.part], value: null });
                make({
                  kind: "movement",
                  path: [...path, isEscape ? "wheel" : "escape wheel"],
                  value: wheel.written ?? "?",
                });
              }}
            >
              Escape wheel
            </button>
          )}
          {train.duty === "time" &&
            (["minute", "seconds"] as const).map((hand) => (
              <button
                key={hand}
                type="button"
                aria-pressed={arbor.hand === hand}
                onClick={() => set("hand", arbor.hand === hand ? null : hand)}
              >
                {hand} hand
              </button>
            ))}
          {train.duty !== "time" && (
            <>
              <SmallCount
                words="lifting pins"
                arbor={arbor}
                part="pins"
                onSet={(count) => set("pins", count)}
              />
              <SmallCount
                words="locking places"
                arbor={arbor}
                part="locks"
                onSet={(count) => set("locks", count)}
              />
              <SmallCount
                words="warning pins"
                arbor={arbor}
                part="warning"
                onSet={(count) => set("warning", count)}
              />
              <button
                type="button"
                aria-pressed={arbor.also.includes("count wheel")}
                onClick={() => set("count wheel", arbor.also.includes("count wheel") ? null : true)}
              >
                Count wheel
              </button>
              <button
                type="button"
                aria-pressed={arbor.also.includes("fly")}
                onClick={() => set("fly", arbor.also.includes("fly") ? null : true)}
              >
                Fly
              </button>
            </>
          )}
          <button type="button" onClick={() => make({ kind: "movement", path, value: null })}>
            Remove this arbor
          </button>
        </div>
      </details>
    </li>
  );
}

function SmallCount(props: {
  readonly words: string;
  readonly part: string;
  readonly arbor: ArborState;
  readonly onSet: (count: number | null) => void;
}): JSX.Element {
  const { words, part, arbor, onSet } = props;
  const now = arbor.also.find((text) => text.startsWith(`${part}: `))?.slice(part.length + 2) ?? "";
  return (
    <label class="inline">
      {words}
      <input
        key={now}
        class="count-input"
        inputMode="numeric"
        maxLength={3}
        defaultValue={now}
        onChange={(event) => {
          const text = event.currentTarget.value.trim();
          onSet(/^\d{1,3}$/.test(text) && Number(text) > 0 ? Number(text) : null);
        }}
      />
    </label>
  );
}

function Gear(props: {
  readonly gear: GearState;
  readonly path: readonly string[];
  readonly onSet: (count: number | string) => void;
  readonly make: (change: Change) => void;
}): JSX.Element {
  const { gear, onSet } = props;
  const { tell } = useSurvey();
  const words = gear.part === "pinion" ? "leaves" : "teeth";
  const now = gear.written === undefined ? "" : String(gear.written);
  return (
    <div class={`gear ${gear.missing ? "missing" : ""} ${gear.conflict ? "conflict" : ""}`}>
      <label>
        <span>
          {gear.part}, {words}
        </span>
        <input
          key={now}
          class="count-input"
          inputMode="numeric"
          maxLength={4}
          defaultValue={now}
          placeholder={gear.fromPhotographs === undefined ? "?" : String(gear.fromPhotographs)}
          aria-label={`${gear.words}: ${words}`}
          onChange={(event) => {
            const text = event.currentTarget.value.trim();
            if (text === "" || text === "?") onSet("?");
            else if (/^\d{1,4}$/.test(text) && Number(text) > 0) onSet(Number(text));
            else tell(`Expected a number of ${words}, or “?” for a lost one.`);
          }}
        />
      </label>
      {gear.fromPhotographs !== undefined && <small>from the photographs</small>}
      {gear.missing && <small class="flag">not known</small>}
      {gear.conflict && (
        <small class="flag">
          photographs say {gear.seen[0]?.count}{" "}
          <button type="button" onClick={() => onSet("?")}>
            take theirs
          </button>
        </small>
      )}
      {gear.weighed && <small class="flag">with the train: {gear.weighed.count}</small>}
    </div>
  );
}

/** What a lost count may have been, solved where it is missing. */
function Missing({
  movement,
  make,
}: {
  movement: MovementState;
  make: (change: Change) => void;
}): JSX.Element | null {
  const { missing } = movement;
  if (!missing) return null;
  const pathOf = (position: string): string[] => {
    const [train = "", ...rest] = position.split(".");
    return train === "motion work"
      ? ["motion work", ...rest]
      : ["trains", train, "arbors", rest.slice(0, -1).join("."), rest.at(-1) ?? ""];
  };
  return (
    <section class="missing-counts" aria-label="Counts that are missing">
      <h2>What is missing</h2>
      <p>{missing.gears.map(({ words }) => words).join("; ")}.</p>
      {missing.problem && (
        <p class="message watch">
          {missing.problem.text}. <strong>{missing.problem.advice}.</strong>
        </p>
      )}
      {missing.used.length > 0 && <p class="quiet">Narrowed down by: {missing.used.join("; ")}.</p>}
      {missing.answers.length > 0 && (
        <table>
          <caption>Best of {missing.found} answers; check against the mating part before cutting</caption>
          <thead>
            <tr>
              <th scope="col">Counts</th>
              <th scope="col">Beats per hour</th>
              <th scope="col">Gains, s per day</th>
              <th scope="col">Take it</th>
            </tr>
          </thead>
          <tbody>
            {missing.answers.map((answer) => {
              const counts = answer.counts.map(({ count }) => count).join(" and ");
              return (
                <tr key={counts}>
                  <th scope="row">
                    {counts}
                    {answer.exact ? " (exact)" : ""}
                  </th>
                  <td>{answer.beatsPerHour === undefined ? "" : Number(answer.beatsPerHour.toFixed(2))}</td>
                  <td>
                    {answer.gainsSecondsPerDay === undefined ? "" : answer.gainsSecondsPerDay.toFixed(0)}
                  </td>
                  <td>
                    <button
                      type="button"
                      onClick={() =>
                        answer.counts.forEach(({ position, count }) =>
                          make({ kind: "movement", path: pathOf(position), value: count }),
                        )
                      }
                    >
                      Write {counts}
                    </button>
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      )}
    </section>
  );
}

function TrainFindings({ movement }: { movement: MovementState }): JSX.Element | null {
  const findings = movement.result?.findings ?? [];
  if (findings.length === 0) return null;
  return (
    <section aria-label="What does not agree">
      <h2>What the counts say</h2>
      <ul class="findings">
        {findings.map(({ code, severity, text, advice, position }) => (
          <li key={`${code} ${position} ${text}`} class={severity}>
            <strong>{severity}:</strong> {text}
            {advice === undefined ? "" : `; ${advice}`}
          </li>
        ))}
      </ul>
    </section>
  );
}

function AddTrain({
  movement,
  make,
}: {
  movement: MovementState;
  make: (change: Change) => void;
}): JSX.Element | null {
  const left = (["time", "strike", "chime"] as const).filter((duty) =>
    movement.trains.every((train) => train.duty !== duty),
  );
  if (left.length === 0 || movement.mistakes.length > 0) return null;
  return (
    <p class="row">
      {left.map((duty) => (
        <button
          key={duty}
          type="button"
          onClick={() =>
            make({ kind: "movement", path: ["trains", duty], value: { arbors: { great: { wheel: "?" } } } })
          }
        >
          Add a {duty} train
        </button>
      ))}
    </p>
  );
}

/** The file itself, for everything that has no button. */
function MovementText({ movement }: { movement: MovementState }): JSX.Element {
  const { change, state } = useSurvey();
  return (
    <details>
      <summary>The movement file</summary>
      <Field
        label="movement.yaml"
        rows={24}
        value={movement.text}
        draftKey={`${state.name} movement`}
        save={(text) => change({ kind: "movement text", text })}
      />
    </details>
  );
}

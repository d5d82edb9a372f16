import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { PhotoDetail } from "../../wire.js";
import { ask, post, surveyPath } from "../ask.js";
import { CircleHandles, type CircleByHand } from "../photo/circle-handles.js";
import { PartMarks } from "../photo/part-marks.js";
import { PartPanel } from "../photo/part-panel.js";
import { partRadiusPx, type ToothPlace } from "../photo/part-shape.js";
import { Stage } from "../photo/stage.js";
import { routeTo } from "../route.js";
import { useSurvey } from "../survey.js";

/** One photograph: look at what was measured, and put right what was not. */
export function PhotoScreen({ name }: { name: string }): JSX.Element {
  const { state, change, tell } = useSurvey();
  const [detail, setDetail] = useState<PhotoDetail>();
  const [chosen, setChosen] = useState<string>();
  const [tooth, setTooth] = useState<ToothPlace>();
  const [mode, setMode] = useState<"look" | "circle" | "new">("look");
  const summary = state.photos.find((photo) => photo.name === name);
  const stamp = `${summary?.sha256} ${summary?.state} ${state.revisions.corrections}`;
  useEffect(() => {
    let gone = false;
    ask<PhotoDetail>(surveyPath(state.name, "photos", name)).then(
      (found) => gone || setDetail(found),
      (error: Error) => gone || tell(error.message),
    );
    return () => {
      gone = true;
    };
  }, [state.name, name, stamp]);
  const index = state.photos.findIndex((photo) => photo.name === name);
  const neighbour = (by: number): string | undefined => state.photos[index + by]?.name;
  const shown = detail?.shown;
  const parts = shown?.parts ?? [];
  const part = parts.find(({ id }) => id === chosen) ?? parts[0];
  const excluded = (detail?.correction?.parts ?? []).filter(({ left_out }) => left_out);
  const correction = detail?.correction?.parts.find((each) => each.part === part?.id);
  const measured = detail?.measured?.parts.find(({ id }) => id === part?.id);
  const radius = part && partRadiusPx(part);
  const focus =
    part && radius !== undefined && chosen !== undefined
      ? ([part.centre_px[0] - radius * 1.2, part.centre_px[1] - radius * 1.2, radius * 2.4] as const)
      : undefined;
  const setCircle = (circle: CircleByHand): void =>
    void change({ kind: "part", photo: name, part: part!.id, set: { circle } }).catch(() => undefined);
  const leftOut = detail?.correction?.left_out === true;
  return (
    <div class="photo-screen">
      <div class="photo-head">
        <h1>
          <bdi>{name}</bdi>
        </h1>
        <nav class="row" aria-label="Photographs">
          <Neighbour survey={state.name} to={neighbour(-1)} words="Previous" />
          <Neighbour survey={state.name} to={neighbour(1)} words="Next" />
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
            {leftOut ? "Take in again" : "Leave this photograph out"}
          </button>
          <button
            type="button"
            aria-pressed={mode === "new"}
            disabled={!shown}
            onClick={() => setMode(mode === "new" ? "look" : "new")}
          >
            {mode === "new" ? "Click the middle of the part" : "Mark a part by hand"}
          </button>
        </div>
      </div>
      {summary?.state !== "done" && summary !== undefined && (
        <p role="status" class="message watch">
          {summary.state === "measuring"
            ? "Being measured …"
            : summary.state === "waiting"
              ? "Waits to be measured."
              : summary.state === "left out"
                ? "Left out by hand: it counts for nothing."
                : "Measuring was stopped."}
        </p>
      )}
      {(shown?.problems ?? []).map(({ code, text, advice }) => (
        <p key={code} class="message watch">
          {sentence(text)} <strong>{sentence(advice)}</strong>
        </p>
      ))}
      {(detail?.stray ?? []).map((each) => (
        <p key={each.part} class="message watch">
          A change by hand to {each.part} fits no part of this measurement any more; make it again.
        </p>
      ))}
      <div class="photo-body">
        {shown?.width_px !== undefined && summary?.sha256 !== undefined ? (
          <Stage
            survey={state.name}
            photo={name}
            sha256={summary.sha256}
            widthPx={shown.width_px}
            heightPx={shown.height_px!}
            focus={focus}
            label="Photograph with its marks. Arrow keys move it, plus and minus zoom, 0 shows all."
            marks={(view) => (
              <>
                {parts.map((each) => (
                  <PartMarks
                    key={each.id}
                    part={each}
                    zoom={view.zoom}
                    chosen={each.id === part?.id}
                    chosenTooth={each.id === part?.id ? tooth?.number : undefined}
                  />
                ))}
                {mode === "circle" && part && <CircleHandles part={part} view={view} onSet={setCircle} />}
              </>
            )}
            onPoint={([x, y], view) => {
              if (mode === "new") {
                setMode("look");
                const tipRadiusPx = 60 / view.zoom;
                void change({
                  kind: "new part",
                  photo: name,
                  centrePx: [x, y],
                  tipRadiusPx,
                  withinPx: 2 / view.zoom,
                }).then(
                  () => {
                    setMode("circle");
                  },
                  () => undefined,
                );
                return;
              }
              if (mode === "circle") return;
              const near = parts.find(
                (each) =>
                  Math.hypot(x - each.centre_px[0], y - each.centre_px[1]) < (partRadiusPx(each) ?? 30),
              );
              if (near) setChosen(near.id);
            }}
          />
        ) : (
          <div class="stage-frame empty-stage">
            {summary?.sha256 !== undefined && summary.state !== "done" && (
              <img
                src={`${surveyPath(state.name, "photos", name, "picture")}?size=middle`}
                alt={`Photograph ${name}`}
              />
            )}
          </div>
        )}
        <div class="side">
          {parts.length > 1 && (
            <div class="part-list" role="group" aria-label="Parts in this photograph">
              {parts.map((each) => (
                <button
                  key={each.id}
                  type="button"
                  aria-pressed={each.id === part?.id}
                  onClick={() => {
                    setTooth(undefined);
                    setChosen(each.id);
                  }}
                >
                  {each.label ?? each.id} <strong>{each.teeth?.count ?? "?"}</strong>
                </button>
              ))}
            </div>
          )}
          {part && shown ? (
            <PartPanel
              key={part.id}
              photo={name}
              record={shown}
              shown={part}
              measured={measured}
              correction={correction}
              leftOut={false}
              settingCircle={mode === "circle"}
              onSetCircle={(on) => setMode(on ? "circle" : "look")}
              onShowTooth={setTooth}
            />
          ) : (
            shown && <p>No part was found. Mark one by hand, or photograph it again.</p>
          )}
          {excluded.map((each) => (
            <p key={each.part}>
              {each.part} was said to be no part.{" "}
              <button
                type="button"
                onClick={() =>
                  void change({ kind: "part", photo: name, part: each.part, set: { leftOut: false } }).catch(
                    () => undefined,
                  )
                }
              >
                Take it in again
              </button>
            </p>
          ))}
        </div>
      </div>
    </div>
  );
}

/** Problems come as halves of sentences. */
const sentence = (text: string): string =>
  `${text.charAt(0).toUpperCase()}${text.slice(1)}${/[.!?]$/.test(text) ? "" : "."}`;

function Neighbour({
  survey,
  to,
  words,
}: {
  survey: string;
  to: string | undefined;
  words: string;
}): JSX.Element {
  return to === undefined ? (
    <span class="button disabled" aria-disabled="true">
      {words}
    </span>
  ) : (
    <a class="button" href={routeTo(survey, "photo", to)}>
      {words}
    </a>
  );
}

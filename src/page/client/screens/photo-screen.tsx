import type { JSX } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import type { PartRecord } from "../../../record/index.js";
import type { PhotoDetail, PhotoSummary, Revisions } from "../../wire.js";
import { AfterFrame } from "../after-frame.js";
import { ask, picturePath, surveyPath } from "../ask.js";
import { CircleHandles, type CircleByHand } from "../photo/circle-handles.js";
import { PartMarks } from "../photo/part-marks.js";
import { PartPanel } from "../photo/part-panel.js";
import { partRadiusPx, type ToothPlace } from "../photo/part-shape.js";
import { PhotoHead } from "../photo/photo-head.js";
import { RimStrip } from "../photo/rim-strip.js";
import { Stage } from "../photo/stage.js";
import { routeTo } from "../route.js";
import { useSurvey } from "../survey.js";

/** One photograph: look at what was measured, and put right what was not. */
export function PhotoScreen({ name }: { name: string }): JSX.Element {
  const { state, pushed, change, tell } = useSurvey();
  const [asked, setAsked] = useState<{ readonly stamp: string; readonly detail: PhotoDetail }>();
  const [chosen, setChosen] = useState<string>();
  const [tooth, setTooth] = useState<ToothPlace>();
  const [mode, setMode] = useState<"look" | "circle" | "new">("look");
  const summary = state.photos.find((photo) => photo.name === name);
  const gone = summary === undefined;
  // Renamed, here or in another window, it is the same photograph still.
  const sha256 = useRef(summary?.sha256);
  if (summary?.sha256 !== undefined) sha256.current = summary.sha256;
  const renamed = gone
    ? state.photos.find((photo) => photo.sha256 !== undefined && photo.sha256 === sha256.current)?.name
    : undefined;
  useEffect(() => {
    if (renamed !== undefined) location.replace(routeTo(state.name, "photo", renamed));
  }, [state.name, renamed]);
  const stamp = stampOf(summary, state.revisions);
  // The result of a photograph that is looked at comes by itself; changes are asked for.
  const isPushed =
    pushed?.detail.summary.name === name && stampOf(pushed.detail.summary, pushed.revisions) === stamp;
  useEffect(() => {
    if (isPushed || gone) return;
    let left = false;
    ask<PhotoDetail>(surveyPath(state.name, "photos", name)).then(
      (found) => left || setAsked({ stamp, detail: found }),
      (error: Error) => left || tell(error.message),
    );
    return () => {
      left = true;
    };
  }, [state.name, name, stamp, isPushed, gone]);
  const detail = asked?.stamp === stamp || !isPushed ? asked?.detail : pushed.detail;
  const shown = detail?.shown ?? detail?.measured;
  const parts = shown?.parts ?? [];
  const part = parts.find(({ id }) => id === chosen) ?? parts[0];
  const excluded = (detail?.correction?.parts ?? []).filter(({ left_out }) => left_out);
  const correction = detail?.correction?.parts.find((each) => each.part === part?.id);
  const measured = detail?.measured?.parts.find(({ id }) => id === part?.id);
  const radius = part && partRadiusPx(part);
  // A part alone is what the photograph was taken for.
  const focus =
    part && radius !== undefined && (chosen !== undefined || parts.length === 1)
      ? ([part.centre_px[0] - radius * 1.2, part.centre_px[1] - radius * 1.2, radius * 2.4] as const)
      : undefined;
  const setCircle = (circle: CircleByHand): void =>
    void change({ kind: "part", photo: name, part: part!.id, set: { circle } }).catch(() => undefined);
  const leftOut = detail?.correction?.left_out === true;
  if (gone)
    return (
      <>
        <h1>
          <bdi>{name}</bdi>
        </h1>
        <p role="status">
          No photograph of the survey has this name any more.{" "}
          <a href={routeTo(state.name, "photos")}>All photographs</a>
        </p>
      </>
    );
  return (
    <div class="photo-screen">
      <PhotoHead
        name={name}
        leftOut={leftOut}
        marking={mode === "new"}
        onMark={shown && (() => setMode(mode === "new" ? "look" : "new"))}
      />
      {summary.state !== "done" && (
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
        <div class="stage-side">
          {shown?.width_px !== undefined && summary.sha256 !== undefined ? (
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
              {summary.sha256 !== undefined && summary.state !== "done" && (
                <img
                  src={picturePath(state.name, name, summary.sha256, "middle")}
                  alt={`Photograph ${name}`}
                />
              )}
            </div>
          )}
          {part && measured && hasTeeth(part) && (
            <AfterFrame>
              <RimStrip
                key={part.id}
                measured={measured}
                correction={correction}
                onShow={setTooth}
                onTooth={(angleDeg, to) =>
                  void change({ kind: "tooth", photo: name, part: part.id, angleDeg, state: to }).catch(
                    () => undefined,
                  )
                }
              />
            </AfterFrame>
          )}
        </div>
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
                  {each.label ?? each.id}
                  {each.on_arbor_of === undefined ? " " : " pinion "}
                  <strong>{each.kind === "plate" ? "plate" : (each.teeth?.count ?? "?")}</strong>
                </button>
              ))}
            </div>
          )}
          {part && shown ? (
            <AfterFrame>
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
              />
            </AfterFrame>
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

/** Rims without teeth have nothing to strike or to add. */
const hasTeeth = ({ kind }: PartRecord): boolean =>
  kind !== "plate" && kind !== "count-wheel" && kind !== "locking-cam";

/** Changes with what is shown. */
const stampOf = (summary: PhotoSummary | undefined, { corrections, survey }: Revisions): string =>
  [summary?.sha256, summary?.state, summary?.heightsFromSetsMm, corrections, survey].join(" ");

/** Problems come as halves of sentences. */
const sentence = (text: string): string =>
  `${text.charAt(0).toUpperCase()}${text.slice(1)}${/[.!?]$/.test(text) ? "" : "."}`;

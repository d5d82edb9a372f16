import type { JSX } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import type { PartCorrection, PartRecord, ToothStateByHand } from "../../../record/index.js";
import { toothWords } from "../words.js";
import { rimShares, type ToothPlace } from "./part-shape.js";

interface RimStripProps {
  /** As measured: changes refer to its teeth. */
  readonly measured: PartRecord;
  readonly correction: PartCorrection | undefined;
  readonly onTooth: (angleDeg: number, state: ToothStateByHand | null) => void;
  readonly onShow: (place: ToothPlace | undefined) => void;
}

const choices: readonly (readonly [ToothStateByHand, string])[] = [
  ["whole", "Whole"],
  ["broken", "Broken"],
  ["missing", "Missing"],
  ["bent", "Bent"],
  ["none", "No tooth here"],
];
const toothWidth = 52;
const height = 86;

const apart = (a: number, b: number): number => Math.abs(((a - b + 540) % 360) - 180);

/** The rim unrolled, a button under each tooth: what stands there, and what a person says of it. */
export function RimStrip({ measured, correction, onTooth, onShow }: RimStripProps): JSX.Element {
  const places = measured.teeth?.places ?? [];
  const [open, setOpen] = useState<number>();
  const strip = useRef<HTMLDivElement>(null);
  const pitch = 360 / Math.max(1, places.length);
  const start = (places[0]?.angle_deg ?? 0) - pitch / 2;
  const x = (angleDeg: number): number => ((((angleDeg - start) % 360) + 360) % 360) * (toothWidth / pitch);
  const changeAt = (angleDeg: number): ToothStateByHand | undefined =>
    correction?.teeth?.find(
      ({ state, angle_deg }) => state !== "added" && apart(angle_deg, angleDeg) < pitch / 4,
    )?.state;
  const added = (correction?.teeth ?? []).filter(({ state }) => state === "added");
  const width = places.length * toothWidth;
  const place = places.find(({ number }) => number === open);
  useEffect(() => onShow(place), [open]);
  // What is not whole is what one looks for.
  const firstOdd = places.findIndex(({ state }) => state !== "whole");
  useEffect(() => {
    strip.current?.scrollTo({ left: Math.max(0, (firstOdd - 2) * toothWidth) });
  }, [firstOdd]);
  if (places.length === 0)
    return <p class="quiet">No single teeth were made out. State the count instead.</p>;
  return (
    <section class="rim" aria-label="Teeth one by one">
      <h2>Rim unrolled: {places.length} places, counter-clockwise</h2>
      <div class="rim-scroll" ref={strip} tabIndex={0} role="group" aria-label="Rim unrolled, with its teeth">
        <svg width={width} height={height} aria-hidden="true" class="rim-plot">
          <path d={rimPath(measured, x)} />
          {added.map(({ angle_deg }) => (
            <path key={angle_deg} class="rim-added" d={`M${x(angle_deg)} 4v${height - 8}`} />
          ))}
        </svg>
        <div
          class="rim-teeth"
          ref={(element) => {
            if (element) element.style.width = `${width}px`;
          }}
        >
          {places.map((each) => {
            const change = changeAt(each.angle_deg);
            const state = change ?? toothWords[each.state];
            const says = state === "none" ? "struck" : state === "whole" ? "" : state;
            return (
              <button
                key={each.number}
                type="button"
                class={`rim-tooth ${state.replace(" ", "-")}${change ? " by-hand" : ""}`}
                aria-pressed={open === each.number}
                aria-label={`Tooth ${each.number}: ${state === "none" ? "struck" : state}${change ? ", by hand" : ""}`}
                onClick={() => setOpen(open === each.number ? undefined : each.number)}
              >
                {each.number}
                <small>{says}</small>
              </button>
            );
          })}
        </div>
      </div>
      {place && (
        <fieldset class="tooth-choice">
          <legend>Tooth {place.number}</legend>
          <p class="quiet">
            Measured: {toothWords[place.state]}
            {place.index_deviation_mm === undefined
              ? ""
              : `; ${place.index_deviation_mm.toFixed(3)} mm off its place`}
            .
          </p>
          <div class="row">
            {choices.map(([state, words]) => (
              <button
                key={state}
                type="button"
                aria-pressed={changeAt(place.angle_deg) === state}
                onClick={() => onTooth(place.angle_deg, changeAt(place.angle_deg) === state ? null : state)}
              >
                {words}
              </button>
            ))}
            <button type="button" onClick={() => onTooth(place.angle_deg + pitch / 2, "added")}>
              Add a tooth after this
            </button>
          </div>
        </fieldset>
      )}
      {added.length > 0 && (
        <ul class="added-teeth">
          {added.map(({ angle_deg }) => (
            <li key={angle_deg}>
              Tooth added at {angle_deg.toFixed(1)}°{" "}
              <button type="button" onClick={() => onTooth(angle_deg, null)}>
                Take it back
              </button>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}

function rimPath(part: PartRecord, x: (angleDeg: number) => number): string {
  const samples = rimShares(part)
    .map(({ angleDeg, share }) => ({ at: x(angleDeg), share }))
    .sort((a, b) => a.at - b.at);
  let pen = false;
  return samples
    .map(({ at, share }) => {
      if (share === undefined) {
        pen = false;
        return "";
      }
      const command = pen ? "L" : "M";
      pen = true;
      return `${command}${at.toFixed(1)} ${(height - 8 - share * (height - 16)).toFixed(1)}`;
    })
    .join("");
}

import type { PartRecord } from "../../record/index.js";
import { numberText } from "../rounded.js";
import type { Fact } from "./content.js";

const places = (angles: readonly { readonly angle_deg: number }[]): string =>
  angles
    .slice(0, 8)
    .map(({ angle_deg }) => `${numberText(angle_deg, 1)}°`)
    .join(", ");

/** What a wheel carries or shows besides its teeth: lifting pins, notches, the way its teeth point. */
export const fittingFacts = (part: PartRecord): Fact[] => [
  ...pinFacts(part),
  ...notchFacts(part),
  ...(part.rake === undefined
    ? []
    : [{ term: "Teeth point", words: `${part.rake}, as seen in the photograph` }]),
];

function pinFacts({ pins }: PartRecord): Fact[] {
  if (!pins) return [];
  const inState = (state: "missing" | "off" | "unseen", words: string): string[] => {
    const found = (pins.places ?? []).filter((place) => place.state === state);
    return found.length === 0 ? [] : [`${words} at ${places(found)}`];
  };
  const states = [
    ...inState("missing", "missing"),
    ...inState("off", "out of its place"),
    ...inState("unseen", "not seen"),
  ];
  return [{ term: "Lifting pins", words: [`${pins.count}`, ...states].join("; ") }];
}

function notchFacts({ kind, notches }: PartRecord): Fact[] {
  if (!notches) return [];
  if (kind === "locking-cam")
    return [{ term: "Slots", words: `${notches.notches.length}, at ${places(notches.notches)}` }];
  const { blows, blows_per_turn: perTurn, sequence, order, probability, missing, extra } = notches;
  const unseen = notches.notches.filter(({ state }) => state === "unseen");
  return [
    {
      term: "Notches",
      words: [
        `${notches.notches.length}, for ${perTurn} blows a turn`,
        ...(unseen.length > 0 ? [`supposed, not seen, at ${places(unseen)}`] : []),
        ...(missing.length > 0 ? [`missing at ${places(missing)}`] : []),
        ...(extra.length > 0 ? [`too many at ${places(extra)}`] : []),
      ].join("; "),
    },
    {
      term: "Blows from notch to notch",
      words:
        `${blows.slice(0, 60).join(", ")}` +
        (sequence === undefined ? "" : `: ${sequence}`) +
        (order === undefined ? "" : `, ${order}`) +
        `; probability ${probability > 0.999 ? "above 0.999" : numberText(probability, 3)}`,
    },
  ];
}

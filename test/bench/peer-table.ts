import { markdownTable } from "../accuracy/markdown-table.js";
import type { KnownPhoto } from "../accuracy/known-photo.js";
import { matchParts } from "../accuracy/match-parts.js";
import type { PhotoOutcome } from "../accuracy/measure-known-photo.js";
import { sureProbability } from "../accuracy/wheel-outcome.js";
import { median } from "./measure-speed.js";
import type { Took } from "./measure-speed.js";

/** What became of one photograph. Every wheel of the truth is right, wrong, or without a claim. */
export interface CountTally extends Took {
  readonly wheels: number;
  readonly right: number;
  /** Stated as sure, and not so. */
  readonly wrong: number;
  /** Counts stated as sure where there is no wheel. */
  readonly ofNoWheel: number;
}

/** A part as the script of `peer/` tells it: it never doubts. */
export interface PeerPart {
  readonly centre: readonly [number, number];
  readonly radius: number;
  readonly count: number;
}

export function tallyOfPeer(photo: KnownPhoto, parts: readonly PeerPart[], took: Took): CountTally {
  const wheels = photo.wheels.map(({ centrePx, pxPerMm, tipDiameterMm }) => ({
    centrePx,
    tipDiameterPx: pxPerMm * tipDiameterMm,
  }));
  const partOf = matchParts(
    wheels,
    parts.map(({ centre }) => ({ centrePx: centre })),
  );
  const claims = photo.wheels.flatMap(({ toothCount }, w) => {
    const index = partOf[w];
    return index === undefined ? [] : [parts[index]!.count === toothCount];
  });
  return {
    ...took,
    wheels: wheels.length,
    right: claims.filter((isRight) => isRight).length,
    wrong: claims.filter((isRight) => !isRight).length,
    ofNoWheel: parts.length - claims.length,
  };
}

export function tallyOfOurs({ photo, wheels, falseParts }: PhotoOutcome, took: Took): CountTally {
  return {
    ...took,
    wheels: photo.wheels.length,
    right: wheels.filter(({ verdict }) => verdict === "right").length,
    wrong: wheels.filter(({ verdict }) => verdict === "confidently wrong").length,
    ofNoWheel: falseParts.filter(({ teeth }) => (teeth?.probability ?? 0) >= sureProbability).length,
  };
}

/** One row a program; all have seen the same photographs. */
export function peerTable(
  rows: readonly (readonly [name: string, tallies: readonly CountTally[]])[],
): string {
  return markdownTable(
    [
      "program",
      "photographs",
      "wheels",
      "counts right",
      "counts wrong, said as sure",
      "not found, or cannot tell",
      "counts of no wheel",
      "median time a photograph",
      "median processor time",
    ],
    rows.map(([name, tallies]) => {
      const total = (key: "wheels" | "right" | "wrong" | "ofNoWheel"): number =>
        tallies.reduce((sum, tally) => sum + tally[key], 0);
      return [
        name,
        `${tallies.length}`,
        `${total("wheels")}`,
        `${total("right")}`,
        `${total("wrong")}`,
        `${total("wheels") - total("right") - total("wrong")}`,
        `${total("ofNoWheel")}`,
        seconds(tallies.map(({ wallMs }) => wallMs)),
        seconds(tallies.map(({ processorMs }) => processorMs)),
      ];
    }),
  );
}

const seconds = (timesMs: readonly number[]): string => `${(median(timesMs) / 1000).toFixed(2)} s`;

import type { SetName, SetState } from "../../wire.js";

export const setWords = { turn: "Turn set", play: "Play set", height: "Height set" } as const;

export const setTitle = ({ kind, label }: SetName): string => [setWords[kind], label ?? ""].join(" ").trim();

/** What a set is for, and how its photographs are taken. */
export const setHelp: Readonly<Record<SetName["kind"], { readonly asks: string; readonly how: string }>> = {
  turn: {
    asks: "Does it run true?",
    how: "Three photographs or more. The arbor stands in its hole and is turned by about a third of a turn between them.",
  },
  play: {
    asks: "Is it tight on its arbor?",
    how: "Two photographs or more, camera on a stand. The arbor is held, the wheel is pushed, twisted and rocked between them.",
  },
  height: {
    asks: "How high is the face?",
    how: "Two photographs of the untouched wheel, from places 15 cm or more apart.",
  },
};

/** Photographs that a set needs at least. */
export const leastPhotos = { turn: 3, play: 2, height: 2 } as const;

export const stateWords: Readonly<Record<SetState["state"], string>> = {
  looking: "Being evaluated …",
  stopped: "Evaluating was stopped.",
  done: "",
};

/**
 * Small cut-out cards: a marker and plain words. A part tag names the train and the position of the nearest
 * part; the cards TURN and PLAY say that a photograph belongs to a set.
 */
export interface Tag {
  /** Index in the dictionary AprilTag 36h11; never a mat marker's. */
  readonly id: number;
  /** "T1" is the time train's great wheel, "T2" the next arbor up the train, and so on. */
  readonly label: string;
  readonly words: string;
  readonly kind: "part" | "set";
}

export const tagMarkerSizeMm = 10;

const firstTagId = 400;
const positions = [
  "great wheel",
  "second arbor",
  "third arbor",
  "fourth arbor",
  "fifth arbor",
  "sixth arbor",
];
const train = (letter: string, name: string): [string, string][] =>
  positions.map((position, i) => [`${letter}${i + 1}`, `${name}, ${position}`]);
const plain = (letter: string, name: string, count: number): [string, string][] =>
  Array.from({ length: count }, (_, i) => [`${letter}${i + 1}`, `${name} ${i + 1}`]);

const partTags: readonly [string, string][] = [
  ...train("T", "time train"),
  ...train("S", "strike train"),
  ...train("C", "chime train"),
  ...plain("P", "plate", 4),
  ...plain("M", "motion work", 6),
];

/** Ids never change once printed: new tags go to the end. */
export const tags: readonly Tag[] = [
  ...partTags.map(([label, words], i): Tag => ({ id: firstTagId + i, label, words, kind: "part" })),
  { id: firstTagId + 100, label: "TURN", words: "turn set: arbor turned between photographs", kind: "set" },
  { id: firstTagId + 101, label: "PLAY", words: "play set: wheel nudged on its arbor", kind: "set" },
];

export const tagOfMarker = (id: number): Tag | undefined => tags.find((tag) => tag.id === id);

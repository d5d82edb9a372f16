import type { Change } from "../wire.js";

/** What a change did, for the undo button: "tooth count of w1 in t2.jpg". */
export function changeWords(change: Change): string {
  switch (change.kind) {
    case "photo":
      return `${change.leftOut ? "leave out" : "take in"} ${change.photo}`;
    case "part": {
      const what = Object.keys(change.set)
        .map((key) => partWords[key as keyof typeof partWords])
        .join(", ");
      return `${what} of ${change.part} in ${change.photo}`;
    }
    case "tooth":
      return `a tooth of ${change.part} in ${change.photo}`;
    case "new part":
      return `a part marked in ${change.photo}`;
    case "as measured":
      return `${change.part} in ${change.photo} as measured`;
    case "face height":
      return `face height in ${change.photo}`;
    case "done":
      return "a finding ticked off";
    case "statement":
      return change.path.join(", ");
    case "new movement":
      return "new movement file";
    case "movement text":
      return "movement file";
    case "movement":
      return change.set[0]!.path.slice(-3).join(", ");
    case "set":
      return change.set === null
        ? `${photosWords(change.photos)} out of their set`
        : `${photosWords(change.photos)} into the ${change.set.kind} set ${change.set.label?.toUpperCase() ?? ""}`.trim();
    case "stage":
      return change.stage === null
        ? `${change.photo}: neither before nor after`
        : `${change.photo}: ${change.stage} the work`;
    default:
      return change satisfies never;
  }
}

const photosWords = (photos: readonly string[]): string =>
  photos.length === 1 ? photos[0]! : `${photos.length} photographs`;

const partWords = {
  kind: "kind",
  label: "place",
  toothCount: "tooth count",
  circle: "tip circle",
  leftOut: "leaving out",
  remark: "remark",
} as const;

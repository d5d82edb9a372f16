import { tags } from "../mat/index.js";

/** Plain words of a part tag: "T2" is "time train, second arbor". Other labels have none. */
export const labelWords = (label: string): string | undefined =>
  tags.find((tag) => tag.kind === "part" && tag.label === label)?.words;

import type { JSX } from "preact";
import type { PartSummary } from "../wire.js";
import { countWords, isSure } from "./words.js";

/** A part in a word: place and count; a doubt or fault by sign and word, never by colour alone. */
export function Chip({ part }: { part: PartSummary }): JSX.Element {
  const sure = isSure(part);
  const grave = part.worst === "fault" ? "fault" : part.worst === "watch" ? "watch" : "";
  return (
    <span class={`chip ${sure ? "" : "unsure"} ${grave}`}>
      {part.label !== undefined && <span class="chip-label">{part.label}</span>}
      {part.kind === "pinion" && <span class="chip-note">pinion</span>}
      <span class="chip-count">{countWords(part)}</span>
      {!sure && <span class="chip-note">not sure</span>}
      {grave !== "" && <span class="chip-note">{grave}</span>}
      {part.byHand && <span class="chip-note">by hand</span>}
    </span>
  );
}

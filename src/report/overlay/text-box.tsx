import type { JSX } from "preact";
import type { PartRecord } from "../../record/index.js";
import { countText, partKindWords, partName, runsText, teethIn } from "../part-words.js";
import { quantityText } from "../rounded.js";
import { guessWidthEm } from "../shown-text.js";
import { pathData } from "../path-data.js";
import type { Box } from "./place-boxes.js";
import { colours, Mark, type MarkShape } from "./strokes.js";

export interface BoxLine {
  readonly text: string;
  readonly bold?: boolean;
  readonly mark?: MarkShape;
}

/** What the picture says of a part. @param onArbor pinions on the arbor of this wheel. */
export function boxLines(part: PartRecord, onArbor: readonly PartRecord[] = []): BoxLine[] {
  const lines: BoxLine[] = [{ text: partName(part), bold: true }, kindLine(part)];
  if (part.module_mm) lines.push({ text: `module ${quantityText(part.module_mm)}` });
  if (part.tip_diameter_mm) lines.push({ text: `tip dia. ${quantityText(part.tip_diameter_mm)}` });
  for (const state of ["missing", "bent", "short", "unseen"] as const) {
    const numbers = teethIn(part, state);
    if (numbers.length > 0) lines.push({ text: `${state}: ${cut(runsText(numbers))}`, mark: state });
  }
  return [...lines, ...pinLines(part), ...notchLines(part), ...holeLines(part), ...onArbor.map(kindLine)];
}

function kindLine(part: PartRecord): BoxLine {
  const count = countText(part);
  return { text: partKindWords(part).toLowerCase() + (count === "" ? "" : `, ${count}`) };
}

const pinLines = ({ kind, pins }: PartRecord): BoxLine[] => {
  // Pins that are teeth were counted as such.
  if (!pins || kind === "pinion" || kind === "escape-wheel") return [];
  const lines: BoxLine[] = [{ text: `${pins.count} lifting pins` }];
  for (const [state, text, mark] of [
    ["missing", "pins missing", "missing"],
    ["off", "pins out of place", "bent"],
    ["unseen", "pins not seen", "unseen"],
  ] as const) {
    const found = (pins.places ?? []).filter((p) => p.state === state).length;
    if (found > 0) lines.push({ text: `${text}: ${found}`, mark });
  }
  return lines;
};

const notchLines = ({ notches }: PartRecord): BoxLine[] => [
  ...(notches?.missing ?? []).map(({ after_blows }): BoxLine => ({
    text: `no notch after ${after_blows} blows`,
    mark: "missing",
  })),
  ...(notches?.extra.length
    ? [{ text: `notches too many: ${notches.extra.length}`, mark: "extra" as const }]
    : []),
];

const holeLines = ({ holes, findings }: PartRecord): BoxLine[] => {
  if (!holes) return [];
  const worn = findings.filter((f) => f.code === "hole-oval").length;
  return [{ text: `${holes.length} holes${worn > 0 ? `, ${worn} worn oval` : ""}` }];
};

const cut = (list: string): string => (list.length > 26 ? `${list.slice(0, 25)}…` : list);

const lineEm = 1.32;
const padEm = 0.55;
const markEm = 1.5;

export function boxSize(lines: readonly BoxLine[], fontSize: number): { width: number; height: number } {
  const width = Math.max(
    0,
    ...lines.map((l) => guessWidthEm(l.text) * (l.bold ? 1.12 : 1) + (l.mark ? markEm : 0)),
  );
  return { width: (width + 2 * padEm) * fontSize, height: (lines.length * lineEm + 2 * padEm) * fontSize };
}

/** A line from a card to what it speaks of; drawn before all cards, so that it runs across none. */
export function Leader({
  path,
  fontSize,
}: {
  readonly path: string;
  readonly fontSize: number;
}): JSX.Element {
  const width = (share: number): number => Math.round(fontSize * share * 10) / 10;
  return (
    <g fill="none">
      <path d={path} stroke={colours.paper} stroke-width={width(0.26)} />
      <path d={path} stroke={colours.ink} stroke-width={width(0.1)} />
    </g>
  );
}

/** A paper-white card with its lines. */
export function TextBox(props: {
  readonly box: Box;
  readonly lines: readonly BoxLine[];
  readonly fontSize: number;
}): JSX.Element {
  const { box, lines, fontSize } = props;
  const r = (v: number): number => Math.round(v * 10) / 10;
  return (
    <g>
      <rect
        x={r(box.x)}
        y={r(box.y)}
        width={r(box.width)}
        height={r(box.height)}
        rx={r(fontSize * 0.25)}
        fill={colours.paper}
        fill-opacity="0.93"
        stroke={colours.ink}
        stroke-width={r(fontSize * 0.08)}
      />
      {lines.map((line, i) => {
        const y = box.y + (padEm + (i + 0.78) * lineEm) * fontSize;
        const x = box.x + padEm * fontSize;
        return (
          <g key={i}>
            {line.mark && (
              <Mark shape={line.mark} at={[x + 0.5 * fontSize, y - 0.35 * fontSize]} size={0.4 * fontSize} />
            )}
            <text
              x={r(x + (line.mark ? markEm * fontSize : 0))}
              y={r(y)}
              font-size={r(fontSize)}
              fill={colours.ink}
              {...(line.bold ? { "font-weight": "bold" } : {})}
            >
              {line.text}
            </text>
          </g>
        );
      })}
    </g>
  );
}

/** Shortest line from a card to a circle; none when they touch. */
export function leaderTo(box: Box, centre: readonly [number, number], radius: number): string | undefined {
  const x = Math.min(Math.max(centre[0], box.x), box.x + box.width);
  const y = Math.min(Math.max(centre[1], box.y), box.y + box.height);
  const d = Math.hypot(x - centre[0], y - centre[1]);
  if (d <= radius * 1.02) return undefined;
  const onCircle = [
    centre[0] + ((x - centre[0]) / d) * radius,
    centre[1] + ((y - centre[1]) / d) * radius,
  ] as const;
  return pathData([[x, y], onCircle]);
}

import type { JSX } from "preact";
import type { Box } from "../overlay/place-boxes.js";

/**
 * A report as sections of blocks, before it becomes HTML or PDF: both say the same because both are made of this.
 */
export interface ReportContent {
  readonly title: string;
  readonly subtitle: string;
  /** Title block: who, when, for what. */
  readonly facts: readonly Fact[];
  readonly cover?: FigureBlock;
  /** A notice that must be seen on every page ("invented data"). */
  readonly notice?: string;
  readonly sections: readonly Section[];
  /** Said at the foot of every page. */
  readonly foot: string;
}

export interface Section {
  readonly id: string;
  readonly title: string;
  readonly blocks: readonly Block[];
  /** Begins on a new page. */
  readonly newPage?: boolean;
}

/**
 * A piece of running text. `said` is text from outside (labels, names, remarks): it is shown, never obeyed.
 */
export type Inline =
  | string
  | { readonly bold: string }
  | { readonly said: string }
  | { readonly code: string }
  | { readonly to: string; readonly text: string };

export type Words = string | readonly Inline[];

export interface Fact {
  readonly term: string;
  readonly words: Words;
}

export interface Column {
  readonly head: string;
  readonly align?: "left" | "right";
  /** Share of the width. */
  readonly width?: number;
}

export type Block =
  | { readonly kind: "paragraph"; readonly words: Words; readonly quiet?: boolean }
  | { readonly kind: "list"; readonly items: readonly Words[]; readonly ordered?: boolean }
  | { readonly kind: "facts"; readonly rows: readonly Fact[] }
  | TableBlock
  | FigureBlock
  | { readonly kind: "findings"; readonly items: readonly FindingItem[] }
  | { readonly kind: "pair"; readonly left: readonly Block[]; readonly right: readonly Block[] }
  | { readonly kind: "part"; readonly id: string; readonly title: Words; readonly blocks: readonly Block[] }
  | { readonly kind: "heading"; readonly id?: string; readonly title: string };

export interface TableBlock {
  readonly kind: "table";
  readonly caption: string;
  /** The first column heads its row. */
  readonly columns: readonly Column[];
  readonly rows: readonly (readonly Words[])[];
  readonly small?: boolean;
}

export interface FigureBlock {
  readonly kind: "figure";
  readonly id?: string;
  /** What somebody who cannot see it must know. */
  readonly alt: string;
  readonly caption: Words;
  readonly box: Box;
  /** SVG elements in the units of `box`. */
  readonly drawing: JSX.Element;
  /** Key of the picture underneath. */
  readonly picture?: string;
  /** Share of the line that it takes; default 1. */
  readonly width?: number;
  /** Drawn at its true size: this wide, mm, as far as the page allows. */
  readonly trueWidthMm?: number;
}

export interface FindingItem {
  readonly severity: "note" | "watch" | "fault";
  readonly words: Words;
  readonly evidence?: { readonly to: string; readonly text: string };
}

/** The words without their dress, for places that take plain text only. */
export const plainWords = (words: Words): string =>
  typeof words === "string"
    ? words
    : words
        .map((w) =>
          typeof w === "string"
            ? w
            : "bold" in w
              ? w.bold
              : "said" in w
                ? w.said
                : "code" in w
                  ? w.code
                  : w.text,
        )
        .join("");

export const severityWords = { fault: "Fault", watch: "Watch", note: "Note" } as const;

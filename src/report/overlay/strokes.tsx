import type { JSX } from "preact";
import { pathData } from "../path-data.js";
import type { XyPx } from "./frame.js";

/**
 * Circles are drawn light on a dark halo, for they lie on metal; ticks and numbers dark on a light halo, for they
 * lie on the sheet as a rule. With its halo each shows on any ground.
 */
export const colours = {
  tip: "#ffffff",
  root: "#9fe7ff",
  pitch: "#ffd84a",
  ink: "#10141a",
  paper: "#ffffff",
} as const;

/** Sans-serif faces with wide coverage; digits of equal width are not needed here. */
export const fontFamily = "'Source Sans 3', DejaVu Sans, Verdana, Noto Sans, Arial, Helvetica, sans-serif";

const digits = (v: number): string => String(Math.round(v * 10) / 10);

export const xy = ([x, y]: XyPx): string => `${digits(x)},${digits(y)}`;

/** A line on its halo. */
export function HaloPath(props: {
  readonly d: string;
  readonly width: number;
  readonly halo: number;
  readonly colour: string;
  readonly haloColour?: string;
  readonly dash?: string;
}): JSX.Element | null {
  const { d, width, halo, colour, haloColour = colours.ink, dash } = props;
  if (d === "") return null;
  const shared = { d, fill: "none", "stroke-linejoin": "round", "stroke-linecap": "round" } as const;
  return (
    <g>
      <path {...shared} stroke={haloColour} stroke-opacity="0.75" stroke-width={digits(width + 2 * halo)} />
      <path
        {...shared}
        stroke={colour}
        stroke-width={digits(width)}
        {...(dash === undefined ? {} : { "stroke-dasharray": dash })}
      />
    </g>
  );
}

/** Dress of texts on their halo, given once to a group of them. */
export const haloText = (size: number) =>
  ({
    "font-size": digits(size),
    "text-anchor": "middle",
    fill: colours.ink,
    stroke: colours.paper,
    "stroke-width": digits(size * 0.28),
    "stroke-linejoin": "round",
    "paint-order": "stroke",
  }) as const;

/** A line of text in such a group. Plain text only: preact escapes it, `shownText` has made it harmless. */
export function HaloText(props: {
  readonly at: XyPx;
  readonly size: number;
  readonly text: string;
  readonly bold?: boolean;
}): JSX.Element {
  const { at, size, text, bold } = props;
  return (
    <text x={digits(at[0])} y={digits(at[1] + size * 0.36)} {...(bold ? { "font-weight": "bold" } : {})}>
      {text}
    </text>
  );
}

export type MarkShape = "missing" | "bent" | "short" | "unseen" | "first" | "extra";

/**
 * Signs that differ by shape, not by colour: missing is a circle with a cross, bent a lozenge, short a
 * square, unseen an empty ring, one too many a circle with a bar, the first tooth a wedge that points at it.
 */
export function Mark(props: {
  readonly shape: MarkShape;
  readonly at: XyPx;
  readonly size: number;
  /** Unit vector from the centre of the part outwards. */
  readonly outwards?: XyPx;
}): JSX.Element {
  const { shape, at, size: s, outwards: [ox, oy] = [0, -1] } = props;
  const [x, y] = at;
  const line = { stroke: colours.ink, "stroke-width": digits(s * 0.28), "stroke-linejoin": "round" } as const;
  const filled = { ...line, fill: colours.paper };
  switch (shape) {
    case "missing": {
      const c = s * 0.55;
      return (
        <g>
          <circle cx={digits(x)} cy={digits(y)} r={digits(s)} {...filled} />
          <path
            d={`M${xy([x - c, y - c])}L${xy([x + c, y + c])}M${xy([x - c, y + c])}L${xy([x + c, y - c])}`}
            fill="none"
            {...line}
          />
        </g>
      );
    }
    case "extra":
      return (
        <g>
          <circle cx={digits(x)} cy={digits(y)} r={digits(s)} {...filled} />
          <path d={`M${xy([x - 0.6 * s, y])}L${xy([x + 0.6 * s, y])}`} fill="none" {...line} />
        </g>
      );
    case "bent":
      return (
        <path
          d={pathData([[x, y - 1.2 * s], [x + s, y], [x, y + 1.2 * s], [x - s, y]], { closed: true })} // prettier-ignore
          {...filled}
        />
      );
    case "short":
      return (
        <rect x={digits(x - 0.85 * s)} y={digits(y - 0.85 * s)} width={digits(1.7 * s)} height={digits(1.7 * s)} {...filled} />
      ); // prettier-ignore
    case "unseen":
      return (
        <circle
          cx={digits(x)}
          cy={digits(y)}
          r={digits(0.8 * s)}
          {...line}
          fill="none"
          stroke={colours.paper}
        />
      );
    case "first":
      return (
        <path
          d={pathData([[x, y], [x + ox * 2 * s - oy * s, y + oy * 2 * s + ox * s], [x + ox * 2 * s + oy * s, y + oy * 2 * s - ox * s]], { closed: true })} // prettier-ignore
          {...filled}
        />
      );
    default:
      return shape satisfies never;
  }
}

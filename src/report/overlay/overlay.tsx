import type { JSX } from "preact";
import { renderToString } from "preact-render-to-string";
import type { PartRecord, PhotoRecord } from "../../record/index.js";
import { guessWidthEm } from "../shown-text.js";
import { Holes, Notches, Pins } from "./fitting-marks.js";
import { partFrame, type PartFrame } from "./frame.js";
import { Circles, EccentricityArrow, marksReach, Teeth } from "./part-marks.js";
import { placeBeside, placeInCorner, type Box, type Disc } from "./place-boxes.js";
import { scaleBarOf, ScaleBarMarks } from "./scale-bar.js";
import { colours, fontFamily } from "./strokes.js";
import { boxLines, boxSize, Leader, leaderTo, TextBox } from "./text-box.js";

export interface OverlayOptions {
  /** Part of the picture to show, px of the upright photograph; default: all of it. */
  readonly crop?: Box;
  /** Id of the one part to mark; default: all. */
  readonly only?: string;
  /** Text cards beside the parts; default true. */
  readonly cards?: boolean;
  /** Size of marks and text against the usual; default 1. For pictures that are shown small. */
  readonly emphasis?: number;
}

/** Pixel (0, 0) is the centre of the top-left pixel; a drawing counts from the corner. */
const halfPixel = 0.5;

/** The picture's part that is shown. */
export const shownBox = (photo: PhotoRecord, options: OverlayOptions): Box =>
  options.crop ?? { x: 0, y: 0, width: photo.width_px ?? 1, height: photo.height_px ?? 1 };

/** Marks over one photograph, in its pixels. */
export function OverlayMarks(props: {
  readonly photo: PhotoRecord;
  readonly options?: OverlayOptions;
}): JSX.Element {
  const { photo, options = {} } = props;
  const shown = shownBox(photo, options);
  const unit = ((options.emphasis ?? 1) * Math.max(shown.width, shown.height)) / 1000;
  const parts = photo.parts.filter((part) => options.only === undefined || part.id === options.only);
  const framed = parts.map((part) => ({ part, frame: partFrame(part) }));
  const fontSize = 12 * unit;
  const picture = inset(shown, 8 * unit);
  const discs = framed.map(({ part, frame }): Disc => discOf(part, frame, unit));
  const taken: Box[] = [];
  const bar = scaleBarOf(photo, shown.width, options.only);
  const barText = bar && `${bar.lengthMm} mm ${bar.words}`;
  const barBox =
    bar &&
    placeInCorner(
      {
        width: Math.max(bar.lengthPx, guessWidthEm(barText!) * fontSize * 0.92) + fontSize * 1.2,
        height: 2.5 * fontSize,
      },
      picture,
      discs,
      taken,
    );
  if (barBox) taken.push(barBox);
  const cards =
    options.cards === false
      ? []
      : framed.flatMap(({ part, frame }, i) => {
          // A pinion is named on the card of its wheel.
          if (parts.some(({ id }) => id === part.on_arbor_of)) return [];
          const lines = boxLines(
            part,
            parts.filter(({ on_arbor_of }) => on_arbor_of === part.id),
          );
          const box = placeBeside(boxSize(lines, fontSize), discs[i]!, picture, discs, taken);
          taken.push(box);
          return { id: part.id, lines, box, leader: leaderTo(box, frame.centre, discs[i]!.radius) };
        });
  return (
    <g transform={`translate(${halfPixel} ${halfPixel})`} font-family={fontFamily}>
      {framed.map((props) => (
        <Circles key={props.part.id} {...props} unit={unit} />
      ))}
      {framed.map((props, i) => (
        <g key={props.part.id}>
          <Holes {...props} unit={unit} />
          <Notches {...props} unit={unit} />
          <Pins {...props} unit={unit} />
          <Teeth {...props} unit={unit} others={discs.filter((_, k) => k !== i)} />
          <EccentricityArrow {...props} unit={unit} />
        </g>
      ))}
      {cards.map(
        ({ id, leader }) => leader !== undefined && <Leader key={id} path={leader} fontSize={fontSize} />,
      )}
      {cards.map(({ id, lines, box }) => (
        <TextBox key={id} lines={lines} box={box} fontSize={fontSize} />
      ))}
      {bar && barBox && (
        <g>
          <rect
            x={Math.round(barBox.x)}
            y={Math.round(barBox.y)}
            width={Math.round(barBox.width)}
            height={Math.round(barBox.height)}
            rx={fontSize * 0.25}
            fill={colours.paper}
            fill-opacity="0.93"
            stroke={colours.ink}
            stroke-width={fontSize * 0.08}
          />
          <ScaleBarMarks
            bar={bar}
            at={[barBox.x + fontSize * 0.6, barBox.y + fontSize * 0.55]}
            fontSize={fontSize}
          />
          <text
            x={barBox.x + fontSize * 0.6}
            y={barBox.y + fontSize * 2.05}
            font-size={fontSize * 0.92}
            fill={colours.ink}
          >
            {barText}
          </text>
        </g>
      )}
    </g>
  );
}

/** Room a part takes with its marks: cards keep off it. */
const discOf = (part: PartRecord, frame: PartFrame, unit: number): Disc => ({
  centre: frame.centre,
  radius: frame.radiusPx + (part.teeth?.places?.length ? marksReach * unit : 4 * unit),
});

const inset = (box: Box, by: number): Box => ({
  x: box.x + by,
  y: box.y + by,
  width: box.width - 2 * by,
  height: box.height - 2 * by,
});

/**
 * Draws what was measured over the photograph: an SVG document in pixels of the upright photograph, without
 * the photograph itself. Sizes follow the picture's size.
 */
export function drawOverlay(photo: PhotoRecord, options: OverlayOptions = {}): string {
  const { x, y, width, height } = shownBox(photo, options);
  const svg = renderToString(
    <svg
      xmlns="http://www.w3.org/2000/svg"
      width={width}
      height={height}
      viewBox={`${x} ${y} ${width} ${height}`}
    >
      <OverlayMarks photo={photo} options={options} />
    </svg>,
  );
  // HTML allows this sequence in text, XML does not.
  return svg.replaceAll("]]>", "]]&gt;");
}

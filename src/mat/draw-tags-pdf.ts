import type { PdfPage } from "./pdf-page.js";
import { openPdfPage } from "./pdf-page.js";
import type { Mark } from "./sheet-marks.js";
import type { Paper, PointOnSheetMm } from "./sheet.js";
import { describeSheet, sheetRevision } from "./sheet.js";
import { layTagCards, tagQuietZoneMm, type TagCard } from "./tag-cards.js";
import { tagMarkerSizeMm } from "./tags.js";

const cutGrey = 176;
const cutLineMm = 0.15;
/** Cut lines run a little past the cards, so that the rule finds them. */
const cutPastMm = 3;
const textPt = 9.5;
const headingPt = 10.5;
const lineMm = 4.3;

/**
 * One page: the part tags to cut out, the cards TURN and PLAY, and below them how to photograph.
 * Exact size, vectors only; the same bytes on every call.
 */
export async function drawTagsPdf(paper: Paper): Promise<Uint8Array> {
  const { widthMm, heightMm } = describeSheet(paper);
  const title = `wheelsurvey part tags, revision ${sheetRevision}`;
  const page = await openPdfPage(title, widthMm, heightMm);
  const cards = layTagCards(paper);
  const left = Math.min(...cards.map((card) => card.fromMm[0]));
  const right = Math.max(...cards.map((card) => card.toMm[0]));
  const top = Math.max(...cards.map((card) => card.toMm[1]));
  const bottom = Math.min(...cards.map((card) => card.fromMm[1]));

  page.write({ text: title, atMm: [left, top + 9], sizePt: 10, bold: true, role: "H1" });
  page.write({
    text: "Print at 100 % (actual size), do not fit to page. Cut along the light lines and keep the white edge round each marker.",
    atMm: [left, top + 5],
    sizePt: 7.5,
  });
  const cuts: Mark[] = [];
  for (const x of new Set(cards.flatMap((card) => [card.fromMm[0], card.toMm[0]]))) {
    cuts.push(cutLine([x, bottom - cutPastMm], [x, top + cutPastMm]));
  }
  for (const y of new Set(cards.flatMap((card) => [card.fromMm[1], card.toMm[1]]))) {
    cuts.push(cutLine([left - cutPastMm, y], [right + cutPastMm, y]));
  }
  page.fill(...cuts);
  for (const card of cards) drawCard(page, card);
  writeGuide(page, [left, bottom - 14], right - left);
  return page.bytes();
}

function cutLine([x0, y0]: PointOnSheetMm, [x1, y1]: PointOnSheetMm): Mark {
  const half = cutLineMm / 2;
  return { fromMm: [x0 - half, y0 - half], toMm: [x1 + half, y1 + half], grey: cutGrey };
}

function drawCard(page: PdfPage, { tag, markerCentreMm, fromMm, toMm }: TagCard): void {
  page.marker(tag.id, markerCentreMm, tagMarkerSizeMm);
  const x = fromMm[0] + tagMarkerSizeMm + 1.6 * tagQuietZoneMm;
  const [, y] = markerCentreMm;
  page.write({ text: tag.label, atMm: [x, y + 2], sizePt: 13, bold: true });
  const sizePt = 5.8;
  tag.words
    .split(/(?<=[,:]) /)
    .flatMap((phrase) => page.wrap(phrase, toMm[0] - x - 0.8, sizePt))
    .forEach((text, i) => page.write({ text, atMm: [x, y - 0.7 - 2.05 * i], sizePt, continues: i > 0 }));
}

interface Section {
  readonly heading: string;
  readonly lines: readonly string[];
}

const columnsOfGuide: readonly (readonly Section[])[] = [
  [
    {
      heading: "Caution: let the mainspring down first",
      lines: [
        "A wound mainspring can injure. Let it down fully with a let-down key, and take off any weights, before the plates are parted. Wear eye protection. Follow local codes, and leave to a licensed professional whatever you are not sure of.",
      ],
    },
    {
      heading: "The mat",
      lines: [
        "Print it at 100 % on matt paper and lay it flat on a board.",
        "Measure both check bars, from the middle of one tick to the middle of the other, with calipers or a steel rule. Give the readings as --mat-across and --mat-along.",
        "Leave all four corners and as many markers as you can in view; some may be covered.",
      ],
    },
    {
      heading: "The part",
      lines: [
        "Lay it flat on the plain field, with white paper all round it. To let an arbor through, pierce the mat at a cross, with foam or card below.",
        "If a wheel's face stands above the mat, measure its height and give it as --face-height: 10 mm left out at 40 cm makes a wheel 2.5 % too large.",
        "Lay its tag beside it, nearer to it than to any other part.",
      ],
    },
  ],
  [
    {
      heading: "The camera",
      lines: [
        "Straight above the part, 40 cm or more away; come closer with the zoom, not with the camera.",
        "Soft light from two sides, no flash, no hard shadow on the teeth.",
        "Sharp all over: rest the camera, tap to focus on the part.",
        "Keep the original file: no crop, no filter, no straightening.",
      ],
    },
    {
      heading: "Is the wheel true on its arbor? Card TURN",
      lines: [
        "Stand the arbor upright in a pierced hole and turn the wheel together with its arbor, about a third of a turn between photographs. Three photographs or more, with the card TURN and the part's tag in each.",
      ],
    },
    {
      heading: "Is the wheel loose on its arbor? Card PLAY",
      lines: [
        "Hold the arbor still. Nudge the wheel sideways, twist it and rock it, each to its end, with a photograph at each end and the card PLAY and the part's tag in each.",
      ],
    },
    {
      heading: "The tags",
      lines: [
        "T time train, S strike train, C chime train, M motion work, P plates. 1 is the great wheel; count up the train from there.",
      ],
    },
  ],
];

function writeGuide(page: PdfPage, [left, top]: readonly [number, number], widthMm: number): void {
  const gapMm = 8;
  const columnMm = (widthMm - gapMm) / 2;
  page.write({ text: "How to photograph", atMm: [left, top], sizePt: 13, bold: true, role: "H2" });
  columnsOfGuide.forEach((sections, column) => {
    const x = left + column * (columnMm + gapMm);
    let y = top - 8;
    for (const { heading, lines } of sections) {
      page.write({ text: heading, atMm: [x, y], sizePt: headingPt, bold: true, role: "H3" });
      y -= lineMm + 0.5;
      for (const paragraph of lines) {
        page.wrap(paragraph, columnMm, textPt).forEach((text, i) => {
          page.write({ text, atMm: [x, y], sizePt: textPt, continues: i > 0 });
          y -= lineMm;
        });
        y -= 0.9;
      }
      y -= 2.4;
    }
  });
}

import { openPdfPage, type PdfPage } from "./pdf-page.js";
import type { Paper } from "./sheet.js";
import { describeSheet, sheetRevision } from "./sheet.js";

const headingPt = 13;
const stepPt = 12;
const smallPt = 9.5;
const lineMm = 5.4;
const marginMm = 20;
const numberMm = 8;

interface Steps {
  readonly heading: string;
  readonly question: string;
  readonly steps: readonly string[];
  readonly after: string;
}

const caution =
  "A wound mainspring can injure. Let it down fully with a let-down key, even if the clock seems run down, and take off " +
  "any weights, before the plates are parted. Wear eye protection. Follow your local codes, and leave to a licensed " +
  "professional whatever you are not sure of.";

/** Five steps each; the README has the same ones. */
export const setSteps: readonly Steps[] = [
  {
    heading: "Turn set: does the wheel run true on its arbor?",
    question: "Card TURN. Three photographs or more, four are better.",
    steps: [
      "Pierce the mat at a cross, with foam or card below. Stand the arbor upright in the hole, so that the wheel lies flat on the sheet. Make a pencil dot on one crossing.",
      "Lay the card TURN and the part's tag beside the wheel. Measure the height of the face above the mat.",
      "Take a photograph from straight above, 40 cm up or more, with all four corners of the mat.",
      "Turn wheel and arbor together by about a third of a turn (a quarter for four photographs). Touch only the rim; the arbor stays in its hole. Take the next photograph.",
      "Go on until the wheel has come round once. The camera may move between photographs, the mat may not.",
    ],
    after: "Then: wheelsurvey measure PHOTOS --set turn --face-height MM",
  },
  {
    heading: "Play set: is the wheel tight on its arbor?",
    question: "Card PLAY. Two photographs or more, four to six are better.",
    steps: [
      "Set the arbor up so that it cannot move: in a pin vice or a block under the pierced mat, wheel upwards. Its end, its pinion or a filed flat must be seen from above.",
      "Lay the card PLAY and the part's tag beside the wheel. Put the camera on a stand and come close: one corner of the mat with ten markers is enough. Straight above for a wheel that lies on the sheet; for one that stands free, some 20 degrees from one side.",
      "Push the wheel gently to one side as far as it goes, let go, and take a photograph. Push it to the other side and take the next.",
      "Hold the arbor, twist the wheel gently one way and take a photograph; then the other way, and another. Use fingers, never pliers.",
      "Rock the wheel towards the camera and take a photograph, then away from it. The camera stays where it is, and hands are out of the picture each time.",
    ],
    after: "Then: wheelsurvey measure PHOTOS --set play --face-height MM",
  },
];

/** One page: how to set up a turn set and a play set. Exact size, the same bytes on every call. */
export async function drawSetsPdf(paper: Paper): Promise<Uint8Array> {
  const { widthMm, heightMm } = describeSheet(paper);
  const title = `wheelsurvey turn sets and play sets, revision ${sheetRevision}`;
  const page = await openPdfPage(title, widthMm, heightMm);
  const left = -widthMm / 2 + marginMm;
  const width = Math.min(widthMm - 2 * marginMm, 200);
  let y = heightMm / 2 - marginMm;
  page.write({ text: "Is this wheel true and tight?", atMm: [left, y], sizePt: 18, bold: true, role: "H1" });
  y -= 10;
  page.write({
    text: "Caution: let the mainspring down first",
    atMm: [left, y],
    sizePt: headingPt,
    bold: true,
    role: "H2",
  });
  y = paragraph(page, caution, [left, y - 6], width, stepPt) - 5;
  for (const section of setSteps) {
    page.write({ text: section.heading, atMm: [left, y], sizePt: headingPt, bold: true, role: "H2" });
    y = paragraph(page, section.question, [left, y - 6], width, stepPt) - 1.5;
    section.steps.forEach((step, i) => {
      page.write({ text: `${i + 1}.`, atMm: [left, y], sizePt: stepPt, bold: true });
      y = paragraph(page, step, [left + numberMm, y], width - numberMm, stepPt, true) - 1.5;
    });
    y = paragraph(page, section.after, [left, y - 0.5], width, smallPt) - 6;
  }
  return page.bytes();
}

/** @returns where the next line may stand. */
function paragraph(
  page: PdfPage,
  text: string,
  [x, top]: readonly [number, number],
  widthMm: number,
  sizePt: number,
  continues = false,
): number {
  let y = top;
  page.wrap(text, widthMm, sizePt).forEach((line, i) => {
    page.write({ text: line, atMm: [x, y], sizePt, continues: continues || i > 0 });
    y -= lineMm;
  });
  return y;
}

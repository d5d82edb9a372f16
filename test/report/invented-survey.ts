import sharp from "sharp";
import type { Photo } from "../../src/photo/index.js";
import { measurementDocument, recordPhoto, software, type SurveyDocument } from "../../src/record/index.js";
import { evaluateMovement, readMovement } from "../../src/trains/index.js";
import { inventedPart, inventedPhoto, inventedView, type InventedWheel } from "../record/invented-part.js";

/**
 * An invented survey of a movement that never existed. Counts follow the eight-day train of Encyclopaedia
 * Britannica, 11th ed. (1911), vol. 6, Clock: great wheel 96, centre 64, third 60, pinions of 8, escape 30.
 */
const tray: readonly InventedWheel[] = [
  { id: "W1", label: "T1", count: 96, moduleMm: 0.75, centrePx: [1000, 950], crossings: 5, eccentricityMm: 0.03 },
  { id: "W2", label: "T2", count: 64, moduleMm: 0.72, centrePx: [2250, 900], missing: [12, 13], bent: [30], eccentricityMm: 0.11, eccentricityAngleRad: 2 },
  { id: "W3", label: "T3", count: 60, moduleMm: 0.7, centrePx: [3250, 900], crossings: 5 },
  { id: "W4", label: "S1", count: 78, moduleMm: 0.75, centrePx: [1000, 2150], crossings: 5 },
  { id: "W5", count: 48, moduleMm: 0.6, centrePx: [2200, 2150] },
]; // prettier-ignore

const single: readonly InventedWheel[] = [
  { id: "W1", label: "T2", count: 64, moduleMm: 0.721, centrePx: [2000, 1500], missing: [12, 13], bent: [30], eccentricityMm: 0.105, eccentricityAngleRad: 2.1 },
]; // prettier-ignore

const movementYaml = `
movement: invented
trains:
  time:
    power: { turns: 16 }
    arbors:
      great: { wheel: 96, tag: T1 }
      centre: { pinion: 8, wheel: 64, hand: minute, tag: T2 }
      third: { pinion: 8, wheel: 60, tag: T3 }
      escape: { pinion: 8, escape wheel: 30 }
  strike:
    power: { turns: 16 }
    strikes: hours
    arbors:
      great: { wheel: 78, tag: S1 }
      pin wheel: { pinion: 8, wheel: 56, pins: 8 }
`;

/** Flat drawing of brass wheels on a white sheet: enough to look at, nothing to measure. */
async function drawnPhoto(file: string, wheels: readonly InventedWheel[]): Promise<Photo> {
  const shapes = wheels
    .map((wheel) => {
      const [cx, cy] = wheel.centrePx;
      const [tip, root] = [
        6 * wheel.moduleMm * (wheel.count + 2.76),
        6 * wheel.moduleMm * (wheel.count - Math.PI),
      ];
      const missing = new Set(wheel.missing ?? []);
      const points = Array.from({ length: wheel.count }, (_, i) => {
        const a = (2 * Math.PI * i) / wheel.count + 0.01;
        const p = Math.PI / wheel.count;
        const r = missing.has(i + 1) ? root : tip;
        return [[-0.5, root], [-0.42, (root + tip) / 2], [-0.2, r], [0.2, r], [0.42, (root + tip) / 2], [0.5, root]]
          .map(([f, radius]) => [a + f! * p, missing.has(i + 1) ? root : radius!] as const)
          .map(([b, radius]) => `${cx + radius * Math.cos(b)},${cy - radius * Math.sin(b)}`)
          .join(" ");
      }); // prettier-ignore
      const n = wheel.crossings ?? 4;
      const crossings = Array.from({ length: n }, (_, i) => {
        const [a, b] = [(2 * Math.PI * (i + 0.09)) / n, (2 * Math.PI * (i + 0.91)) / n];
        const [inner, outer] = [root * 0.25, root * 0.84];
        const p = (r: number, t: number): string => `${cx + r * Math.cos(t)} ${cy + r * Math.sin(t)}`;
        return `<path fill="#f4f2ec" d="M${p(inner, a)}A${inner} ${inner} 0 0 1 ${p(inner, b)}L${p(outer, b)}A${outer} ${outer} 0 0 0 ${p(outer, a)}Z"/>`;
      });
      return `<polygon points="${points.join(" ")}" fill="#b79a4a"/>${crossings.join("")}<circle cx="${cx}" cy="${cy}" r="26" fill="#777d84"/>`;
    })
    .join("");
  const svg = `<svg xmlns="http://www.w3.org/2000/svg" width="4032" height="3024"><rect width="4032" height="3024" fill="#f4f2ec"/><g stroke="#111" stroke-width="0">${shapes}</g></svg>`;
  const rgb = await sharp(Buffer.from(svg)).removeAlpha().raw().toBuffer();
  return { ...inventedPhoto(file), rgb };
}

export interface InventedSurvey {
  readonly survey: SurveyDocument;
  readonly photos: readonly Photo[];
}

export async function inventedSurvey(
  statement: Partial<SurveyDocument["statement"]> = {},
): Promise<InventedSurvey> {
  const photos = [
    await drawnPhoto("photos/tray-1.jpg", tray),
    await drawnPhoto("photos/centre-wheel.jpg", single),
  ];
  const settings = { matAcrossMm: 149.7, matAlongMm: 150.15, faceHeights: [{ heightMm: 1.5 }] };
  const movement = readMovement(movementYaml);
  if (!movement.ok) throw new Error(JSON.stringify(movement.mistakes));
  const records = [tray, single].map((wheels, i) => {
    const record = recordPhoto(photos[i]!, inventedView, wheels.map(inventedPart), [], settings);
    return i === 0 ? record : { ...record, sha256: "fedcba9876543210".repeat(4) };
  });
  const parts = records[0]!.parts.map((part, i) => {
    if (i === 1)
      return {
        ...part,
        findings: [
          ...part.findings,
          { code: "eccentric", severity: "watch" as const, text: "the tooth circle runs out of true with the bore; the depth of engagement varies in every turn" },
        ],
      }; // prettier-ignore
    if (i !== 4) return part;
    return {
      ...part,
      teeth: { ...part.teeth!, probability: 0.71, alternatives: [{ count: 49, probability: 0.22 }] },
      findings: [{ code: "count-unsure", severity: "note" as const, text: "the count is not sure" }],
      problems: [
        { code: "teeth-unclear", text: "glare hides eleven teeth.", advice: "Turn the wheel or move the lamp and photograph again." },
      ],
    }; // prettier-ignore
  });
  const survey: SurveyDocument = {
    schema: "wheelsurvey/survey/1",
    made_at: "2025-03-02T09:30:00.000Z",
    software: software(),
    statement: {
      title: "Two-train eight-day movement",
      notice: "Invented data: this movement does not exist.",
      reference: "INV-0042",
      purpose: "Record for insurance",
      owner: { name: "An Invented Owner" },
      examiner: { name: "An Invented Examiner", role: "clock repairer" },
      examined_on: "2025-03-01",
      identification: {
        type_of_object: "Clock movement with time and strike train",
        materials_and_techniques: "Brass plates and wheels, steel arbors",
        inscriptions_and_markings: "“INVENTED 12” punched on the front plate",
        date_or_period: "not known",
        distinguishing_features: "Two teeth missing from the centre wheel",
      },
      condition: [{ part: "T2", text: "Old solder on one crossing." }],
      planned_work: ["Let down both mainsprings and part the plates", "Clean in ammoniated solution"],
      scale_measured_with: "digital calipers, 0.01 mm",
      remarks: "The strike train was not running when it arrived.",
      ...statement,
    },
    measurement: measurementDocument([{ ...records[0]!, parts }, records[1]!]),
    trains: evaluateMovement(movement.value),
  };
  return { survey, photos };
}

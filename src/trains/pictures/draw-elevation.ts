import type { Movement } from "../movement.js";
import type { MovementResult } from "../result.js";
import type { DoubtResult } from "../weigh-counts.js";
import type { DrawnArbor, DrawnGear, DrawnTrain } from "./drawn-train.js";
import { drawPanels, type Panel, type PanelStyle } from "./draw-panels.js";
import { arborLabel } from "./drawn-train.js";
import { type PictureOptions, letter, markStyle, num, text, textWidth } from "./picture.js";

interface Placed {
  readonly arbor: DrawnArbor;
  readonly x: number;
  readonly y: number;
}

/**
 * The trains from the front, wheels and pinions in proportion, each arbor with its counts. Where the arbors stand
 * between the plates is not known: they lean left and right in turn, at their true distances.
 *
 * @returns an SVG document, black on white.
 */
export function drawTrainElevation(
  movement: Movement,
  result: Pick<MovementResult, "findings" | "missing">,
  doubt?: DoubtResult,
  options: PictureOptions = {},
): string {
  return drawPanels({ movement, result, doubt }, elevation, options);
}

const elevation: PanelStyle = {
  name: "elevation of its trains",
  description:
    "Wheels and pinions from the front, in proportion, with their counts. Places of the arbors are not true.",
  largestRadius: 120,
  drawPanel,
};

function drawPanel(train: DrawnTrain, scale: number): Panel {
  const placed = placeArbors(train.arbors, scale);
  const reach = ({ arbor }: Placed) => Math.max(12, ...arbor.gears.map(({ tip }) => tip * scale));
  const minX = Math.min(...placed.map((one) => one.x - reach(one)));
  const maxX = Math.max(...placed.map((one) => one.x + reach(one)));
  const minY = Math.min(...placed.map((one) => one.y - reach(one)));
  const maxY = Math.max(...placed.map((one) => one.y + reach(one)));
  const labels = placed.map(({ arbor }) => arborLabel(arbor));
  const labelX = maxX - minX + 16;
  const labelWidth = Math.max(textWidth(train.title), ...labels.flat().map(textWidth));
  // Labels stand beside their arbors, top to bottom, and never on one another.
  const step = 3 * letter;
  const order = placed.map((one, i) => ({ one, i })).sort((a, b) => a.one.y - b.one.y);
  const labelY: number[] = [];
  order.forEach(({ one, i }, k) => {
    const before = k === 0 ? -Infinity : labelY[order[k - 1]!.i]!;
    labelY[i] = Math.max(one.y - minY, before + step, letter);
  });
  const at = (one: Placed) => ({ ...one, x: one.x - minX, y: one.y - minY });
  const moved = placed.map(at);
  // Largest first, so that small gears lie on top.
  const gears = moved
    .flatMap(({ arbor, x, y }) => arbor.gears.map((gear) => ({ gear, x, y, arbor })))
    .sort((a, b) => b.gear.tip - a.gear.tip);
  const svg = [
    ...gears
      .filter(({ gear }) => gear.mark.faulty || gear.kind === "pinion")
      .map(({ gear, x, y }) => gearPath(gear, x, y, scale)),
    ...gears
      .filter(({ gear }) => !(gear.mark.faulty || gear.kind === "pinion"))
      .map(({ gear, x, y }) => gearPath(gear, x, y, scale)),
    ...moved.flatMap((one) => extras(one, scale, one.arbor.drivenBy === undefined ? train.power : undefined)),
    ...gears.flatMap(({ gear, x, y, arbor }) => countOn(gear, x, y, scale, arbor)),
    ...moved.map(({ arbor, x, y }, i) => {
      const [name, counts] = labels[i]!;
      const ly = labelY[i]!;
      const marked = arbor.mark.faulty ? ' stroke-dasharray="2 2"' : "";
      return `<path d="M${num(x)} ${num(y)}L${num(labelX - 4)} ${num(ly)}" stroke="#000" stroke-width="0.5" fill="none"${marked}/><circle cx="${num(x)}" cy="${num(y)}" r="2.2" fill="#000"/>${text(labelX, ly, name, { bold: true })}${text(labelX, ly + 1.2 * letter, counts)}`;
    }),
  ];
  return {
    svg,
    title: train.title,
    width: labelX + labelWidth,
    height: Math.max(maxY - minY, ...labelY.map((y) => y + 2 * letter)),
  };
}

/** The first at the bottom, each next above its driver, leaning right and left in turn. */
function placeArbors(arbors: readonly DrawnArbor[], scale: number): readonly Placed[] {
  const places = new Map<string, Placed>();
  const children = new Map<string, number>();
  const lean = 0.55;
  // Drivers may stand below what they drive in the file: go round until all are placed.
  let waiting = [...arbors];
  let depth = 0;
  while (waiting.length > 0) {
    const ready = waiting.filter(({ drivenBy }) => drivenBy === undefined || places.has(drivenBy));
    if (ready.length === 0) break;
    for (const arbor of ready) {
      if (arbor.drivenBy === undefined) {
        places.set(arbor.name, { arbor, x: 0, y: 0 });
        continue;
      }
      const driver = places.get(arbor.drivenBy)!;
      const nth = children.get(arbor.drivenBy) ?? 0;
      children.set(arbor.drivenBy, nth + 1);
      const side = (depth % 2 === 0 ? -1 : 1) * (nth % 2 === 0 ? 1 : -1);
      const angle = side * (lean + 0.9 * Math.floor((nth + 1) / 2));
      const distance = arbor.distance * scale;
      places.set(arbor.name, {
        arbor,
        x: driver.x + distance * Math.sin(angle),
        y: driver.y - distance * Math.cos(angle),
      });
    }
    waiting = waiting.filter(({ name }) => !places.has(name));
    depth++;
  }
  return [...places.values()];
}

/** Toothed outline: plain slanting flanks, enough to tell wheel, pinion and escape wheel apart. */
function gearPath(gear: DrawnGear, x: number, y: number, scale: number): string {
  const { teeth, mark, kind } = gear;
  const tip = gear.tip * scale;
  const root =
    kind === "escape wheel" ? 0.84 * tip : Math.max(0.3 * tip, (2 * gear.pitch - gear.tip) * scale);
  const pitch = (2 * Math.PI) / teeth;
  // Where in the pitch the tooth begins, and its top begins and ends, and where it is down again.
  const corners = kind === "escape wheel" ? [0, 0.62, 0.7, 0.72] : [0.15, 0.3, 0.5, 0.65];
  const points: string[] = [];
  for (let k = 0; k < teeth; k++)
    corners.forEach((share, i) => {
      const angle = (k + share) * pitch;
      const radius = i === 1 || i === 2 ? tip : root;
      points.push(`${num(x + radius * Math.cos(angle))} ${num(y + radius * Math.sin(angle))}`);
    });
  const fill = kind === "pinion" ? "#bbb" : "none";
  return `<path d="M${points.join("L")}Z" ${markStyle(mark, fill)}/>`;
}

/** The count inside the rim, on the side away from the words; a pinion has no room for it. */
function countOn(
  { text: count, tip, kind }: DrawnGear,
  x: number,
  y: number,
  scale: number,
  { pins }: DrawnArbor,
): readonly string[] {
  const inside = tip * scale * (kind === "escape wheel" ? 0.84 : pins === undefined ? 0.92 : 0.72) - 2;
  if (inside < 2.5 * letter) return [];
  const left = x - inside * 0.94;
  return [text(left, y + inside * 0.34, count, { halo: true, bold: true })];
}

function extras({ arbor, x, y }: Placed, scale: number, power: DrawnTrain["power"]): readonly string[] {
  const wheel = arbor.gears.find(({ kind }) => kind === "wheel");
  const out: string[] = [];
  if (wheel && power !== undefined) {
    const r = 0.72 * wheel.pitch * scale;
    out.push(
      `<circle cx="${num(x)}" cy="${num(y)}" r="${num(r)}" fill="none" stroke="#000" stroke-width="0.8" stroke-dasharray="1 2"/>`,
      text(x, y + r - 4, power, { anchor: "middle", halo: true }),
    );
  }
  if (wheel && arbor.pins !== undefined) {
    const r = 0.82 * wheel.pitch * scale;
    for (let k = 0; k < arbor.pins; k++) {
      const angle = (2 * Math.PI * k) / arbor.pins;
      out.push(
        `<circle cx="${num(x + r * Math.cos(angle))}" cy="${num(y + r * Math.sin(angle))}" r="2.5" fill="#000"/>`,
      );
    }
  }
  if (arbor.fly)
    out.push(
      `<rect x="${num(x - 16)}" y="${num(y - 2)}" width="32" height="4" fill="#fff" stroke="#000" stroke-width="0.8"/>`,
    );
  return out;
}

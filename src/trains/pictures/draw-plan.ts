import type { Movement } from "../movement.js";
import type { MovementResult } from "../result.js";
import type { DoubtResult } from "../weigh-counts.js";
import type { DrawnArbor, DrawnGear, DrawnTrain } from "./drawn-train.js";
import { drawPanels, type Panel, type PanelStyle } from "./draw-panels.js";
import { arborLabel } from "./drawn-train.js";
import { type PictureOptions, letter, markStyle, num, text, textWidth } from "./picture.js";

/** From one wheel's plane to the next; counts of three figures find room. */
const layer = 40;
const thickness = { wheel: 7, "escape wheel": 5, pinion: 22 } as const;
const powerWidth = 34;

/**
 * The trains seen along the plates, as if unrolled into one plane: every arbor a line at its true distance from its
 * driver, every wheel in a plane of its own with the pinion that it drives, counts on them.
 *
 * @returns an SVG document, black on white.
 */
export function drawTrainPlan(
  movement: Movement,
  result: Pick<MovementResult, "findings" | "missing">,
  doubt?: DoubtResult,
  options: PictureOptions = {},
): string {
  return drawPanels({ movement, result, doubt }, plan, options);
}

const plan: PanelStyle = {
  name: "plan of its trains",
  description:
    "Arbors between the plates, unrolled into one plane, wheels and pinions in proportion, with their counts.",
  largestRadius: 90,
  drawPanel,
};

interface Box {
  readonly gear: DrawnGear;
  readonly x: number;
  readonly y: number;
}

function drawPanel(train: DrawnTrain, scale: number): Panel {
  const y = heights(train.arbors, scale);
  const planes = planesOf(train.arbors);
  const first = 30 + (train.power === undefined ? 0 : powerWidth + 10);
  const boxes = train.arbors.flatMap((arbor) =>
    arbor.gears.map((gear): Box => ({
      gear,
      x: first + planes.get(gear.position)! * layer,
      y: y.get(arbor.name)!,
    })),
  );
  const flyX = first + (Math.max(0, ...planes.values()) + 1) * layer;
  const right = flyX + (train.arbors.some(({ fly }) => fly) ? layer : 0);
  const top = Math.min(...boxes.map(({ gear, y: at }) => at - gear.tip * scale)) - 1.5 * letter;
  const bottom = Math.max(...boxes.map(({ gear, y: at }) => at + gear.tip * scale)) + 1.5 * letter;
  const away = awayFromMesh(train.arbors, y);
  const labels = train.arbors.map(arborLabel);
  const order = train.arbors.map((arbor, i) => ({ at: y.get(arbor.name)!, i })).sort((a, b) => a.at - b.at);
  const labelY: number[] = [];
  order.forEach(({ at, i }, k) => {
    const before = k === 0 ? -Infinity : labelY[order[k - 1]!.i]!;
    labelY[i] = Math.max(at, before + 2.8 * letter, top + letter);
  });
  const shift = (value: number) => num(value - top);
  const plate = (x: number) =>
    `<rect x="${num(x)}" y="0" width="5" height="${shift(bottom)}" fill="#fff" stroke="#000" stroke-width="0.8"/>`;
  const svg = [
    plate(0),
    plate(right),
    ...train.arbors.map(({ name, mark }) => {
      const dashed = mark.faulty ? ' stroke-dasharray="6 3"' : "";
      return `<path d="M0 ${shift(y.get(name)!)}H${num(right + 5)}" stroke="#000" stroke-width="1.2"${dashed}/>`;
    }),
    // Small ones over large ones: they mesh in one plane.
    ...boxes
      .toSorted((a, b) => b.gear.tip - a.gear.tip)
      .map(({ gear, x, y: at }) => {
        const wide = thickness[gear.kind];
        return `<rect x="${num(x - wide / 2)}" y="${shift(at - gear.tip * scale)}" width="${wide}" height="${num(2 * gear.tip * scale)}" ${markStyle(gear.mark, gear.kind === "pinion" ? "#bbb" : "#fff")}/>`;
      }),
    ...train.arbors.flatMap((arbor) =>
      partsOf(arbor, train, boxes, y.get(arbor.name)! - top, top, scale, flyX),
    ),
    // Where two gears mesh there is no room for a count.
    ...boxes.map(({ gear, x, y: at }) =>
      text(
        x,
        at - top + (away.get(gear.position) === "up" ? -gear.tip * scale - 3 : gear.tip * scale + letter),
        gear.text,
        { anchor: "middle", halo: true },
      ),
    ),
    ...train.arbors.map(({ name }, i) => {
      const [title, counts] = labels[i]!;
      const at = labelY[i]! - top;
      return `<path d="M${num(right + 5)} ${shift(y.get(name)!)}L${num(right + 18)} ${num(at)}" stroke="#000" stroke-width="0.5"/>${text(right + 22, at, title, { bold: true })}${text(right + 22, at + 1.2 * letter, counts)}`;
    }),
  ];
  return {
    svg,
    title: train.title,
    width: right + 22 + Math.max(textWidth(train.title), ...labels.flat().map(textWidth)),
    height: Math.max(bottom, ...labelY.map((at) => at + 2 * letter)) - top,
  };
}

/** On which side a gear's count finds room: a driven gear's beyond its driver, a driver's the other way. */
function awayFromMesh(
  arbors: readonly DrawnArbor[],
  y: ReadonlyMap<string, number>,
): ReadonlyMap<string, "up" | "down"> {
  const away = new Map<string, "up" | "down">();
  for (const { name, drivenBy, drivenPosition, driverPosition } of arbors) {
    if (drivenBy === undefined || drivenPosition === undefined || driverPosition === undefined) continue;
    const isAbove = y.get(name)! < y.get(drivenBy)!;
    away.set(drivenPosition, isAbove ? "up" : "down");
    if (!away.has(driverPosition)) away.set(driverPosition, isAbove ? "down" : "up");
  }
  return away;
}

/** Up from the driver; a second arbor on the same driver goes down. */
function heights(arbors: readonly DrawnArbor[], scale: number): ReadonlyMap<string, number> {
  const y = new Map<string, number>();
  const children = new Map<string, number>();
  let waiting = [...arbors];
  while (waiting.length > 0) {
    const ready = waiting.filter(({ drivenBy }) => drivenBy === undefined || y.has(drivenBy));
    if (ready.length === 0) break;
    for (const { name, drivenBy, distance } of ready) {
      if (drivenBy === undefined) y.set(name, 0);
      else {
        const nth = children.get(drivenBy) ?? 0;
        children.set(drivenBy, nth + 1);
        y.set(name, y.get(drivenBy)! + (nth % 2 === 0 ? -1 : 1) * distance * scale);
      }
    }
    waiting = waiting.filter(({ name }) => !y.has(name));
  }
  return y;
}

/** A plane for each gear: that of its driver, if it is driven, else the next free one. */
function planesOf(arbors: readonly DrawnArbor[]): ReadonlyMap<string, number> {
  const driverOf = new Map(
    arbors.flatMap(({ drivenPosition, driverPosition }) =>
      drivenPosition === undefined || driverPosition === undefined ? [] : [[drivenPosition, driverPosition]],
    ),
  );
  const planes = new Map<string, number>();
  let next = 0;
  const planeOf = (position: string): number => {
    const known = planes.get(position);
    if (known !== undefined) return known;
    const driver = driverOf.get(position);
    const plane = driver === undefined ? next++ : planeOf(driver);
    planes.set(position, plane);
    return plane;
  };
  for (const { gears } of arbors) for (const { position } of gears) planeOf(position);
  return planes;
}

function partsOf(
  arbor: DrawnArbor,
  { power }: DrawnTrain,
  boxes: readonly Box[],
  y: number,
  top: number,
  scale: number,
  flyX: number,
): readonly string[] {
  const out: string[] = [];
  const wheel = boxes.find(
    ({ gear, y: at }) => gear.kind === "wheel" && arbor.gears.includes(gear) && at - top === y,
  );
  if (wheel && power !== undefined && arbor.drivenBy === undefined) {
    const r = 0.72 * wheel.gear.pitch * scale;
    const x = wheel.x - thickness.wheel / 2 - powerWidth;
    out.push(
      `<rect x="${num(x)}" y="${num(y - r)}" width="${powerWidth}" height="${num(2 * r)}" fill="#fff" stroke="#000" stroke-width="0.8"/>`,
      text(x + powerWidth / 2, y + 4, power, { anchor: "middle" }),
    );
  }
  if (wheel && arbor.pins !== undefined)
    for (const side of [-1, 1]) {
      const at = y + side * 0.82 * wheel.gear.pitch * scale;
      out.push(
        `<path d="M${num(wheel.x + thickness.wheel / 2)} ${num(at)}h10" stroke="#000" stroke-width="3"/>`,
      );
    }
  if (arbor.fly)
    out.push(
      `<rect x="${num(flyX - 12)}" y="${num(y - 16)}" width="24" height="32" fill="#fff" stroke="#000" stroke-width="0.8"/>`,
    );
  return out;
}

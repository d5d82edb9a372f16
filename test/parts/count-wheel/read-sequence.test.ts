import { describe, expect, test } from "vitest";
import { readSequence, type NotchPlace } from "../../../src/parts/count-wheel/read-sequence.js";

/**
 * Notches where runs of blows end. 78 blows in 12 hours, 90 with one at every half hour: Encyclopaedia Britannica,
 * 11th ed. (1911), vol. 6, Clock. Angles: closed form, the same share of a turn for every blow.
 */
function notched(blows: readonly number[], sign: 1 | -1 = 1, phase = 0.7): NotchPlace[] {
  const total = blows.reduce((s, n) => s + n, 0);
  let sum = 0;
  return blows
    .map((n) => phase + (sign * 2 * Math.PI * (sum += n)) / total)
    .map((angleRad) => ({
      angleRad: ((angleRad % 6.283185307179586) + 6.283185307179586) % 6.283185307179586,
      widthRad: 0.04,
    }))
    .sort((a, b) => a.angleRad - b.angleRad);
}

const hours = Array.from({ length: 12 }, (_, i) => i + 1);
const halves = hours.flatMap((h) => [h, 1]);

/** Twelve slots, each wide enough for two places: 90 blows. */
const stepOf90 = (2 * Math.PI) / 90;
const wideSlots = hours.map((h): NotchPlace => {
  const end = (h * (h + 1)) / 2 + h - 1;
  return { angleRad: (end + 0.5) * stepOf90, widthRad: 0.04 + stepOf90 };
});

describe("the order of a count wheel", () => {
  test.each(["counter-clockwise", "clockwise"] as const)("hours, %s: 78 blows", (order) => {
    const read = readSequence(notched(hours, order === "clockwise" ? -1 : 1))!;
    expect(read.blowsPerTurn).toBe(78);
    expect(read.sequence).toBe("hours");
    expect(read.order).toBe(order);
    expect(read.blows).toEqual(hours);
    expect(read.missing).toEqual([]);
    expect(read.extra).toEqual([]);
  });

  test("hours with single blows at the half hours: 90 blows from 24 notches", () => {
    const read = readSequence(notched(halves, -1))!;
    expect(read.blowsPerTurn).toBe(90);
    expect(read.blows).toEqual(halves);
    expect(read.order).toBe("clockwise");
  });

  test("hours and halves from twelve slots, each wide enough for two places", () => {
    const read = readSequence(wideSlots)!;
    expect(read.blowsPerTurn).toBe(90);
    expect(read.blows).toEqual(halves);
  });

  test("a wall between the notches of twelve and one too thin to be seen: one wide opening is two notches", () => {
    const step = (2 * Math.PI) / 78;
    const all = notched(hours, 1, 0);
    // The run of one begins at the end of twelve: the last and the first notch, a step apart.
    const joined = all.filter((n) => n.angleRad > 1.5 * step || n.angleRad < 0.5 * step);
    const [first] = joined;
    const wide = [{ angleRad: step / 2, widthRad: first!.widthRad + step }, ...joined.slice(1)];
    expect(wide).toHaveLength(11);
    const read = readSequence(wide)!;
    expect(read.blows).toEqual(hours);
    expect(read.holdsRad[0]).toHaveLength(2);
  });

  test("names the filled notch: the run that does not end", () => {
    const notches = notched(hours);
    // After 5 blows: 1 + 2 + 3 + 4 + 5 = 15 steps from the start.
    const filled = 0.7 + (2 * Math.PI * 15) / 78;
    const read = readSequence(notches.filter((n) => Math.abs(n.angleRad - filled) > 1e-6))!;
    expect(read.missing).toHaveLength(1);
    expect(read.missing[0]!.afterBlows).toBe(5);
    expect(read.missing[0]!.angleRad).toBeCloseTo(filled, 6);
    expect(read.blows).toContain(11);
    expect(read.blows.reduce((s, n) => s + n, 0)).toBe(78);
  });

  test("names a notch that does not belong", () => {
    const extra = 0.7 + (2 * Math.PI * 40) / 78;
    const read = readSequence([...notched(hours), { angleRad: extra, widthRad: 0.04 }])!;
    expect(read.missing).toEqual([]);
    expect(read.extra).toHaveLength(1);
    expect(read.extra[0]!.angleRad).toBeCloseTo(extra, 6);
  });

  test("a narrow notch among wide ones does not belong", () => {
    const read = readSequence([...wideSlots, { angleRad: 60 * stepOf90, widthRad: 0.04 }])!;
    expect(read.sequence).toBe("hours and halves");
    expect(read.extra.map((e) => e.angleRad)).toEqual([expect.closeTo(60 * stepOf90, 6)]);
  });

  describe("notches that their walls may close", () => {
    const all = notched(hours);
    // After 8 and 9 blows: 36 and 45 steps from the start; a notch after 4 is plainly seen to be wanting.
    const at = (steps: number): number => (0.7 + (2 * Math.PI * steps) / 78) % (2 * Math.PI);
    const seen = all.filter((n) => [36, 45].every((k) => Math.abs(n.angleRad - at(k)) > 1e-6));
    const isHidden = (t: number): boolean => t > at(30) && t < at(50);

    test("are supposed where the order wants them, and are no fault", () => {
      const read = readSequence(seen, { isHidden, faintRad: [] })!;
      expect(read.missing).toEqual([]);
      expect(read.blows).toEqual(hours);
      expect(read.unseen.map((n) => [n.angleRad, n.isFaint])).toEqual([
        [expect.closeTo(at(36), 6), false],
        [expect.closeTo(at(45), 6), false],
      ]);
    });

    test("a trace at such a place is the notch", () => {
      const read = readSequence(seen, { isHidden, faintRad: [at(45) + 0.01] })!;
      expect(read.unseen.map((n) => n.isFaint)).toEqual([false, true]);
    });

    test("a place in the open that has none is filled, trace or no trace", () => {
      const filled = seen.filter((n) => Math.abs(n.angleRad - at(10)) > 1e-6);
      const read = readSequence(filled, { isHidden, faintRad: [at(10)] })!;
      expect(read.missing).toEqual([{ angleRad: expect.closeTo(at(10), 6) as number, afterBlows: 4 }]);
    });
  });

  test("evenly spaced openings are no count wheel", () => {
    for (const n of [12, 24, 30, 40])
      expect(
        readSequence(
          Array.from({ length: n }, (_, i) => ({ angleRad: (i * 2 * Math.PI) / n, widthRad: 0.04 })),
        ),
      ).toBeUndefined();
  });
});

/** Along the slot and beside it, shares of the head's radius. */
const along = { from: 0.1, to: 0.7, points: 8 };
const middle = 0.06;
const beside = { from: 0.3, to: 0.55 };
const lines = 3;
const directions = 36;
/** Slots are a third as bright as the head, or less; blur lifts that. */
const darker = 0.6;
/** Smaller heads show no slot at 10 px/mm. */
const leastRadiusMm = 0.8;

/**
 * Whether a disc is the head of a screw that was left in the plate. It is as grey as shaded paper, but has a slot: a line
 * through its middle, darker than what is to both sides of it, on both sides of the middle. Shade in a hole is dark to one
 * side only.
 *
 * @param leastLight of what is beside the slot. @param lightAt from the middle, mm; undefined where nothing is seen.
 */
export function isSlotted(
  radiusMm: number,
  leastLight: number,
  lightAt: (xMm: number, yMm: number) => number | undefined,
): boolean {
  if (radiusMm < leastRadiusMm) return false;
  /** Mean light of half a band along a direction, between two distances beside the middle. */
  const mean = (t: number, half: number, from: number, to: number): number => {
    const [cos, sin] = [Math.cos(t), Math.sin(t)];
    let [sum, n] = [0, 0];
    for (let i = 0; i < along.points; i++)
      for (let j = 0; j < lines; j++) {
        const p = half * radiusMm * (along.from + ((along.to - along.from) * (i + 0.5)) / along.points);
        const q = radiusMm * (from + ((to - from) * (j + 0.5)) / lines);
        const light = lightAt(p * cos - q * sin, p * sin + q * cos);
        if (light === undefined) continue;
        sum += light;
        n++;
      }
    return n === 0 ? NaN : sum / n;
  };
  const isDarkLine = (t: number): boolean =>
    [-1, 1].every((half) => {
      const line = mean(t, half, -middle, middle);
      return [-1, 1].every((side) => {
        const head = mean(t, half, side * beside.from, side * beside.to);
        return head > leastLight && line < darker * head;
      });
    });
  return Array.from({ length: directions }, (_, k) => (Math.PI * k) / directions).some(isDarkLine);
}

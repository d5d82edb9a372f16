import { describe, expect, test } from "vitest";
import { isSettled, settle, type Candidate } from "../../src/parts/settle-wheels.js";

type Reason = Candidate["part"]["reason"];

/** Only what is weighed; the geometry plays no part in it. */
const candidate = (
  reason: Reason,
  count: number,
  probability: number,
  {
    shadowy = false,
    separation = 4,
    growth = 0.1,
    unshadowed,
    byFace,
    byNetwork,
  }: {
    shadowy?: boolean;
    separation?: number;
    growth?: number;
    unshadowed?: number;
    byFace?: true;
    byNetwork?: true;
  } = {},
): Candidate =>
  ({
    part: { reason, shadowy },
    wheel: {
      contrast: { separation, growth },
      count: { count, probability, alternatives: [{ count: count + 1, probability: 1 - probability }] },
      ...(unshadowed !== undefined && { unshadowed }),
      ...(byFace !== undefined && { byFace }),
      ...(byNetwork !== undefined && { byNetwork }),
    },
  }) as unknown as Candidate;

const chosen = (...place: Candidate[]) => settle(place)!.wheel.count;

describe("one way of looking", () => {
  test("is believed where no shadow can be in it", () => {
    expect(isSettled([candidate("colour-or-dark", 60, 0.99)])).toBe(true);
    expect(chosen(candidate("colour-or-dark", 60, 0.99))).toMatchObject({ count: 60, probability: 0.99 });
  });

  test("is not enough where a shadow can be", () => {
    const shadowy = candidate("colour-or-dark", 58, 0.999, { shadowy: true });
    expect(isSettled([shadowy])).toBe(false);
    expect(isSettled([shadowy, candidate("colour", 58, 0.99)])).toBe(true);
  });

  test("that is not sure settles nothing, but is still told", () => {
    expect(isSettled([candidate("colour", 60, 0.7)])).toBe(false);
    expect(chosen(candidate("colour", 60, 0.7), candidate("lightness", 61, 0.4)).count).toBe(60);
  });

  test("no way at all", () => {
    expect(settle([])).toBeUndefined();
    expect(isSettled([])).toBe(false);
  });
});

describe("ways that contradict each other", () => {
  const shadow = candidate("colour-or-dark", 58, 0.999, { shadowy: true });

  test("a hard shadow is outvoted by colour, but one voice is not certainty", () => {
    const place = [shadow, candidate("colour", 56, 0.999)];
    expect(chosen(...place)).toMatchObject({ count: 56, probability: 0.9 });
    expect(chosen(...place).alternatives[0]!.count).toBe(58);
    expect(isSettled(place)).toBe(false);
  });

  test("colour and network together outvote any number of shadows", () => {
    const light = candidate("lightness", 58, 0.99, { shadowy: true });
    const place = [shadow, light, candidate("colour", 56, 0.999), candidate("network", 56, 0.98)];
    expect(chosen(...place).count).toBe(56);
    expect(chosen(...place).probability).toBeCloseTo(0.97);
    expect(isSettled(place)).toBe(true);
  });

  test("two shadow-proof ways that disagree leave it open", () => {
    const place = [candidate("colour", 56, 0.99), candidate("network", 57, 0.99)];
    expect(chosen(...place).probability).toBeLessThan(0.95);
    expect(isSettled(place)).toBe(false);
  });

  test("what was hardly sound has no voice", () => {
    expect(chosen(candidate("lightness", 58, 0.6), candidate("colour", 56, 0.99)).probability).toBe(0.99);
  });

  test("76 for 75: lightness alone, by network and dark, does not outvote what colour and network both say", () => {
    const place = [
      candidate("colour-or-dark", 75, 0.71, { shadowy: true }),
      candidate("lightness", 76, 0.93, { shadowy: true, separation: 0.4, growth: 0 }),
      candidate("colour", 75, 0.79),
      candidate("network", 75, 0.73),
      candidate("network", 76, 0.979, { separation: 0.4, growth: 0 }),
    ];
    expect(chosen(...place).probability).toBeLessThan(0.95);
    expect(isSettled(place)).toBe(false);
    expect(chosen(...place).alternatives[0]!.count).toBe(75);
  });

  test("one way that is not sure takes nothing from one that is", () => {
    const place = [candidate("colour", 75, 0.7), candidate("network", 76, 0.979)];
    expect(chosen(...place)).toMatchObject({ count: 76, probability: 0.979 });
  });

  test("probabilities of what is left never add up to more than one", () => {
    const { probability, alternatives } = chosen(shadow, candidate("colour", 56, 0.999));
    expect(probability + alternatives.reduce((sum, a) => sum + a.probability, 0)).toBeLessThanOrEqual(1);
  });
});

test("of ways that agree the clearest by colour is measured", () => {
  const light = candidate("lightness", 56, 0.99, { separation: 9, growth: 0 });
  const faint = candidate("colour", 56, 0.99, { separation: 3 });
  const clear = candidate("network", 56, 0.99, { separation: 5 });
  expect(settle([light, faint, clear])).toBe(clear);
});

test("of ways that agree the surest gives the probability, whichever is measured", () => {
  const place = [candidate("colour", 56, 0.93), candidate("network", 56, 0.99, { growth: 0 })];
  expect(settle(place)!.part.reason).toBe("colour");
  expect(chosen(...place).probability).toBe(0.99);
});

test("sizes come from colour, even where lightness counts more surely", () => {
  const place = [
    candidate("colour", 56, 0.8),
    candidate("lightness", 56, 0.93, { shadowy: true, growth: 0 }),
  ];
  expect(settle(place)!.part.reason).toBe("colour");
  expect(chosen(...place).probability).toBeGreaterThan(0.93);
});

describe("fine teeth: coarse colour and shadow-prone lightness", () => {
  const byLight = candidate("lightness", 73, 0.93, { shadowy: true, growth: 0, unshadowed: 0.999 });

  test("that count the same are surer together than alone", () => {
    const { count, probability } = chosen(candidate("colour", 73, 0.7), byLight);
    expect(count).toBe(73);
    expect(probability).toBeCloseTo(1 - 0.3 * 0.07);
  });

  test("are never quite certain", () => {
    expect(chosen(candidate("colour", 73, 0.9), byLight).probability).toBe(0.98);
  });

  test("colour in which a shadow may have a part adds nothing", () => {
    const dark = candidate("colour-or-dark", 73, 0.78, { shadowy: true });
    expect(chosen(dark, byLight).probability).toBe(0.93);
  });

  test("a guess by colour adds nothing", () => {
    expect(chosen(candidate("colour", 73, 0.55), byLight).probability).toBe(0.93);
  });

  test("contradicted, a count by lightness is not taken back to what it would be worth without shadows", () => {
    const place = [byLight, candidate("colour", 74, 0.99)];
    expect(settle(place)!.wheel.unshadowed).toBeUndefined();
  });
});

describe("a count by likeness to the face", () => {
  const byFace = candidate("colour", 56, 0.89, { byFace: true });
  const byLight = candidate("lightness", 56, 0.93, { shadowy: true, growth: 0 });

  test("alone is not sure", () => {
    expect(chosen(candidate("colour", 55, 0.1), byFace)).toMatchObject({ count: 56, probability: 0.89 });
  });

  test("and one by lightness confirm each other", () => {
    expect(chosen(candidate("colour", 55, 0.1), byFace, byLight).probability).toBe(0.98);
  });

  test("confirms one by lightness that is not sound alone, if nothing says otherwise", () => {
    const faint = candidate("lightness", 56, 0.85, { shadowy: true, growth: 0 });
    expect(chosen(faint, byFace).probability).toBeGreaterThan(0.95);
    expect(
      chosen(faint, byFace, candidate("lightness", 57, 0.55, { growth: 0 })).probability,
    ).toBeGreaterThan(0.95);
    expect(chosen(faint, byFace, candidate("colour", 55, 0.6)).probability).toBe(0.89);
  });

  test("is no second opinion to a guess", () => {
    expect(chosen(candidate("lightness", 56, 0.6, { growth: 0 }), byFace).probability).toBe(0.89);
  });
});

describe("the network for teeth", () => {
  const byNetwork = true;

  test("settles a place alone where no shadow can be in the rim, and says that it read it", () => {
    const place = [candidate("colour", 29, 0.01), candidate("colour", 120, 0.985, { byNetwork })];
    expect(isSettled(place)).toBe(true);
    expect(settle(place)!.wheel).toMatchObject({
      count: { count: 120, probability: 0.985 },
      readSurely: true,
    });
  });

  test("round the rim of a shadow it is one voice with lightness, and settles nothing", () => {
    const place = [
      candidate("lightness", 47, 0.93, { shadowy: true, growth: 0 }),
      candidate("lightness", 47, 0.93, { shadowy: true, growth: 0, byNetwork }),
    ];
    expect(isSettled(place)).toBe(false);
    expect(settle(place)!.wheel.count.probability).toBe(0.93);
    expect(settle(place)!.wheel.readSurely).toBeUndefined();
  });

  test("by colour it outvotes what a shadow misled", () => {
    const place = [
      candidate("lightness", 47, 0.93, { shadowy: true, growth: 0 }),
      candidate("colour", 45, 0.985, { byNetwork }),
    ];
    expect(settle(place)!.wheel.count).toMatchObject({ count: 45, probability: 0.9 });
  });

  test("half sure, it makes a half-sure count by colour sure", () => {
    const place = [candidate("colour", 71, 0.8), candidate("colour", 71, 0.93, { byNetwork })];
    expect(settle(place)!.wheel.count.probability).toBeCloseTo(0.98, 12);
  });
});

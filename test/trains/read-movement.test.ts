import fc from "fast-check";
import { expect, test } from "vitest";
import { evaluateMovement, exampleMovements, readMovement, solveMissing } from "../../src/trains/index.js";
import { evaluated, mistakesIn, movementOf } from "./evaluated.js";

/** A time train with these arbor lines; the first of them is line 4. */
const withArbors = (...arbors: readonly string[]) =>
  ["trains:", "  time:", "    arbors:", ...arbors.map((arbor) => `      ${arbor}`)].join("\n");

test.each([...exampleMovements])("the example %s reads, and nothing is wrong with it", (_name, yaml) => {
  expect(evaluated(yaml).findings).toEqual([]);
});

const great = "great: { wheel: 96 }";

test.each<[string, string, RegExp]>([
  [
    "a pinion of zero leaves",
    withArbors(great, "centre: { pinion: 0, wheel: 60 }"),
    /^line 5: .*leaves of the pinion.*found 0/,
  ],
  [
    "zero leaves written out",
    withArbors(great, "b: { pinion: { leaves: 0 } }"),
    /^line 5: time > b > pinion > leaves: .*found 0$/,
  ],
  [
    "a wheel that is a list",
    withArbors("great: { wheel: [96] }"),
    /^line 4: time > great > wheel: .*found \[96\]$/,
  ],
  ["half a tooth", withArbors("great: { wheel: 96.5 }"), /^line 4: .*whole number.*found 96\.5/],
  ["a negative count", withArbors("great: { wheel: -4 }"), /^line 4: .*found -4/],
  [
    "a wheel that drives itself",
    withArbors(great, "b: { pinion: 8, driven by: b }"),
    /^line 5: b is said to be driven by itself$/,
  ],
  [
    "a loop",
    withArbors(
      "a: { wheel: 60, driver: 30, driven by: c }",
      "b: { pinion: 8, wheel: 60 }",
      "c: { pinion: 8, wheel: 60 }",
    ),
    /^line 4: .*loop: a is driven by c, c is driven by b, b is driven by a$/,
  ],
  [
    "two escape wheels",
    withArbors(
      great,
      "b: { pinion: 8, escape wheel: 30 }",
      "c: { pinion: 8, escape wheel: 30, driven by: great }",
    ),
    /^line 6: c is a second escape wheel; b \(line 5\) is one already$/,
  ],
  ["a latitude of 200", `place: { latitude: 200 }\n${withArbors(great)}`, /^line 1: .*-90 to 90.*found 200/],
  [
    "a latitude of -200",
    `place: { latitude: -200 }\n${withArbors(great)}`,
    /^line 1: .*-90 to 90.*found -200/,
  ],
  [
    "a misspelt key",
    withArbors("great: { whel: 96 }"),
    /^line 4: "whel" is not known here; did you mean "wheel"\?$/,
  ],
  [
    "a driver that does not exist",
    withArbors(great, "b: { pinion: 8, driven by: graet }"),
    /^line 5: .*did you mean "great"\?$/,
  ],
  [
    "a pinion left out",
    withArbors(great, "third: { wheel: 60 }"),
    /^line 5: third has a wheel but no pinion: give it \(pinion: 8\)/,
  ],
  [
    "a driver without a wheel",
    withArbors("great: { count wheel: yes }", "b: { pinion: 8 }"),
    /^line 5: great has no wheel to drive b/,
  ],
  [
    "a length without its unit",
    withArbors("great: { wheel: { teeth: 96, module: 0.8 } }"),
    /^line 4: .*the unit is missing$/,
  ],
  ["two names alike", withArbors(great, "Great: { wheel: 60 }"), /^line 5: "great" stands here twice/],
  ["a tab as indentation", "trains:\n\ttime: 3", /^line 2: a tab stands at the start/],
  ["an open bracket", withArbors("great: { wheel: 96"), /^line 4: this line cannot be read as YAML/],
  ["an alias", withArbors("a: &x { wheel: 60 }", "b: *x"), /^line 5: write the value out again/],
  ["two documents", `${withArbors(great)}\n---\n${withArbors(great)}`, /a second document begins here/],
  ["an empty file", "", /^the file is empty; a movement file begins with "trains:"$/],
  ["a list", "- 96\n- 8", /expected a movement/],
  ["arbors by number", withArbors("1: { wheel: 96 }"), /^line 4: give this arbor a name/],
  [
    "a pendulum and a balance",
    `balance: yes\npendulum: { length: 1 m }\n${withArbors(great)}`,
    /^line 1: .*keep one of the two$/,
  ],
  [
    "two tags alike",
    withArbors("a: { wheel: 96, tag: X1 }", "b: { pinion: 8, tag: X1 }"),
    /^line 5: b and a \(line 4\) share the tag/,
  ],
  [
    "a swing of 120 degrees",
    `pendulum: { arc: 120 deg }\n${withArbors(great)}`,
    /^line 1: .*at most 60 deg$/,
  ],
  [
    "an unknown strike",
    "trains:\n  strike:\n    strikes: ours\n    arbors: { a: { wheel: 60 } }",
    /^line 3: expected what is struck/,
  ],
  [
    "half a motion work",
    `motion work: { cannon pinion: 12, minute wheel: 36, hour wheel: 40 }\n${withArbors(great)}`,
    /^line 1: the minute wheel and its pinion belong together/,
  ],
  [
    "probabilities above 1",
    withArbors("a: { wheel: { seen: { 60: 0.9, 61: 0.4 } } }"),
    /^line 4: .*add up to 1\.300/,
  ],
  [
    "two sources of power",
    `trains:\n  time:\n    power: { turns: 16, weight: { drop: 2 m, drum: 4 cm } }\n    arbors: { a: { wheel: 60 } }`,
    /^line 3: expected one of turns/,
  ],
  [
    "a barrel thinner than its arbor",
    `trains:\n  time:\n    power: { barrel: { inside: 1 cm, arbor: 12 mm, spring length: 1 m, spring thickness: 0.3 mm } }\n    arbors: { a: { wheel: 60 } }`,
    /^line 3: the arbor \(12 mm\) must be thinner/,
  ],
  [
    "forty-one arbors",
    withArbors(...Array.from({ length: 41 }, (_, i) => `a${i}: { wheel: 60, pinion: 8 }`)),
    /^line 3: expected at most 40 arbors/,
  ],
  ["very deep nesting", `a: ${"[".repeat(20_000)}`, /nested too deeply/],
  ["a huge file", "#".repeat(300_000), /over 256 kB/],
])("refuses %s and says where", (_what, yaml, expected) => {
  const mistakes = mistakesIn(yaml);
  expect(mistakes.length).toBeGreaterThan(0);
  expect(mistakes[0]).toMatch(expected);
});

test("names every wrong line at once, in order", () => {
  const mistakes = mistakesIn(withArbors("great: { whel: 96 }", "b: { pinon: 8 }", "c: { pinion: 0 }"));
  expect(mistakes.map((text) => text.slice(0, 7))).toEqual(["line 4:", "line 5:", "line 6:"]);
});

test("keys may be written with capitals, hyphens or underscores", () => {
  const a = movementOf(
    "trains:\n  time:\n    arbors:\n      great: { wheel: 96 }\n      b: { pinion: 8, escape wheel: 30 }",
  );
  const b = movementOf(
    "Trains:\n  time:\n    Arbors:\n      great: { Wheel: 96 }\n      b: { pinion: 8, escape_wheel: 30 }",
  );
  expect(b).toEqual(a);
});

test("a bare question mark is a lost wheel, wherever it stands", () => {
  const flow = movementOf(withArbors("great: { wheel: ? }", "b: { pinion: ?, wheel: 60 }"));
  const block = movementOf(
    "trains:\n  time:\n    arbors:\n      great:\n        wheel: ?\n      b:\n        pinion: ? # lost\n        wheel: 60",
  );
  for (const { trains } of [flow, block]) {
    expect(trains[0]!.arbors[0]!.wheel?.teeth).toBe("missing");
    expect(trains[0]!.arbors[1]!.pinion?.teeth).toBe("missing");
  }
});

test.each([
  ["32.5 mm", 32.5, undefined],
  ["3.25 cm", 32.5, undefined],
  ["1 1/2 in", 38.1, undefined],
  ["3/8 in", 9.525, undefined],
  ['2 "', 50.8, undefined],
  ["0.40 ± 0.01 mm", 0.4, 0.01],
  ["0.40 +- 0.01 mm", 0.4, 0.01],
  ["1 ± 0.5 in", 25.4, 12.7],
])("reads the size %s", (text, valueMm, uMm) => {
  const { trains } = movementOf(withArbors(`great: { wheel: { teeth: 96, tip diameter: '${text}' } }`));
  const size = trains[0]!.arbors[0]!.wheel!.tipDiameterMm!;
  expect(size.value).toBeCloseTo(valueMm, 10);
  if (uMm === undefined) expect(size.u).toBeUndefined();
  else expect(size.u).toBeCloseTo(uMm, 10);
});

test("no text makes reading throw, and whatever is read can be evaluated and solved", () => {
  const pieces = [...exampleMovements.values()].flatMap((yaml) => yaml.split("\n"));
  const mangled = fc
    .tuple(
      fc.constantFrom(...exampleMovements.values()),
      fc.array(
        fc.tuple(
          fc.nat(60),
          fc.constantFrom("drop", "swap", "cut", "digit", "odd"),
          fc.nat(pieces.length - 1),
        ),
        { maxLength: 6 },
      ),
    )
    .map(([yaml, edits]) => {
      const lines = yaml.split("\n");
      for (const [at, edit, other] of edits) {
        const i = at % lines.length;
        if (edit === "drop") lines.splice(i, 1);
        else if (edit === "swap") lines[i] = pieces[other]!;
        else if (edit === "cut") lines[i] = lines[i]!.slice(0, other % 30);
        else if (edit === "digit") lines[i] = lines[i]!.replace(/\d+/, String(other));
        else lines[i] += String.fromCodePoint(other + 1);
        if (lines.length === 0) break;
      }
      return lines.join("\n");
    });
  let read = 0;
  fc.assert(
    fc.property(fc.oneof(mangled, fc.string({ maxLength: 200 })), (yaml) => {
      const reading = readMovement(yaml);
      if (!reading.ok) {
        expect(reading.mistakes.length).toBeGreaterThan(0);
        return;
      }
      read++;
      expect(() => JSON.stringify(evaluateMovement(reading.value))).not.toThrow();
      expect(() => JSON.stringify(solveMissing(reading.value))).not.toThrow();
    }),
    { numRuns: 300 },
  );
  expect(read).toBeGreaterThan(10);
});

test("a pendulum less certain than it is long is worked out all the same", () => {
  const reading = readMovement(`pendulum: { length: 1 ± 2 mm, arc: 2 deg }

trains:
  time:
    power: { turns: 14 }
    arbors:
      great: { wheel: 96 }
      centre: { pinion: 8, wheel: 72, hand: minute }
      third: { pinion: 8, wheel: 60 }
      escape: { pinion: 7, escape wheel: 33 }
`);
  if (!reading.ok) throw new Error("expected a movement");
  expect(() => evaluateMovement(reading.value)).not.toThrow();
  expect(() => solveMissing(reading.value)).not.toThrow();
});

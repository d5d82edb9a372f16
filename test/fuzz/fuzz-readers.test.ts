import { expect, test } from "vitest";
import { seededRandom } from "../../src/quantity/index.js";
import { fuzz, fuzzedReaders } from "./fuzz-readers.js";
import { spoilBytes, spoilText } from "./mutate.js";

const casesEach = 80;

test("whatever is spoilt, every reader reads it or says what is wrong with it", async () => {
  const readers = await fuzzedReaders();
  expect(readers).toHaveLength(9);
  for (const reader of readers) {
    expect(await reader.readWhole(), reader.name).toBe(true);
    const tally = await fuzz(reader, 1, casesEach);
    expect(tally.faults, reader.name).toEqual([]);
    expect(tally.read + tally.refused).toBe(casesEach);
    // Spoiling must spoil, or nothing was tried.
    expect(tally.refused, reader.name).toBeGreaterThan(casesEach / 20);
  }
});

test("a reader that throws what is no answer to a user is found out", async () => {
  const broken = {
    name: "broken",
    readWhole: () => Promise.resolve(true),
    tryOne: () => Promise.reject(new TypeError("x is undefined")),
  };
  expect((await fuzz(broken, 1, 3)).faults).toHaveLength(3);
});

test("the same seed spoils the same way, another seed otherwise", () => {
  const bytes = Uint8Array.from({ length: 400 }, (_, i) => i % 251);
  expect(spoilBytes(bytes, seededRandom(4))).toEqual(spoilBytes(bytes, seededRandom(4)));
  expect(spoilBytes(bytes, seededRandom(5))).not.toEqual(spoilBytes(bytes, seededRandom(4)));
  expect(spoilText("a: 1\nb: 2\n", seededRandom(4))).toBe(spoilText("a: 1\nb: 2\n", seededRandom(4)));
});

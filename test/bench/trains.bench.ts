import { bench, describe } from "vitest";
import {
  evaluateMovement,
  exampleMovements,
  readMovement,
  solveMissing,
  weighCounts,
} from "../../src/trains/index.js";
import { movementOf } from "../trains/evaluated.js";

const lost = (wheel: string, pinion: string, top: string) =>
  movementOf(`${top}
trains:
  time:
    power: { turns: 16 }
    arbors:
      great: { wheel: 96 }
      centre: { pinion: 8, wheel: ${wheel}, hand: minute }
      third: { pinion: ${pinion}, wheel: 56 }
      escape: { pinion: 7, escape wheel: 30 }
`);

const ranges = { wheelTeeth: { from: 20, to: 120 }, leaves: { from: 6, to: 16 } };

// Promise: a pair out of wheels 20 to 120 and leaves 6 to 16 in under 50 ms.
describe("lost pair", () => {
  const byBeats = lost("?", "?", "beats per hour: 3600");
  const byPendulum = lost("?", "?", "pendulum: { length: 994 ± 5 mm }");
  const sized = lost(
    "{ teeth: ?, tip diameter: 50.2 ± 0.05 mm }",
    "{ leaves: ?, tip diameter: 7.8 ± 0.05 mm }",
    "beats per hour: 3600",
  );
  const twoWheels = movementOf(`beats per hour: 3600
trains:
  time:
    arbors:
      centre: { wheel: ?, hand: minute }
      third: { pinion: 8, wheel: ? }
      escape: { pinion: 7, escape wheel: 30 }
`);
  bench("two wheels by beats", () => void solveMissing(twoWheels, ranges));
  bench("wheel and pinion by beats", () => void solveMissing(byBeats, ranges));
  bench("wheel and pinion by pendulum", () => void solveMissing(byPendulum, ranges));
  bench("wheel and pinion by beats and sizes", () => void solveMissing(sized, ranges));
});

describe("a whole movement", () => {
  const yaml = exampleMovements.get("chime")!;
  const movement = movementOf(yaml);
  bench("read", () => void readMovement(yaml));
  bench("evaluate", () => void evaluateMovement(movement));
});

describe("doubt", () => {
  const movement = lost("60", "8", "beats per hour: 3600");
  const doubtful = (count: number) =>
    [0, 1, -1, 2, -2].map((step) => ({ count: count + step, probability: step === 0 ? 0.4 : 0.15 }));
  const evidence = [
    { position: "T1", kind: "wheel" as const, alternatives: doubtful(96) },
    { position: "T2", kind: "wheel" as const, alternatives: doubtful(60) },
    { position: "T3", kind: "wheel" as const, alternatives: doubtful(56) },
    { position: "T4", kind: "wheel" as const, alternatives: doubtful(30) },
    { position: "T4", kind: "pinion" as const, alternatives: doubtful(7) },
  ];
  bench("five doubtful gears", () => void weighCounts(movement, evidence));
});

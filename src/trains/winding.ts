import { measuredFrom } from "./measured.js";
import type { Measured, Power } from "./movement.js";
import type { TrainFinding, WindingResult } from "./result.js";

export interface Winding {
  readonly winding?: WindingResult;
  readonly findings: readonly TrainFinding[];
}

/**
 * Turns of the first arbor in one winding.
 *
 * - weight: drop (twice that with a pulley on the weight) over the circumference at the middle of the line,
 *   pi (drum + line); one layer on the drum.
 * - barrel: the strip lies solid, on the arbor when wound and against the wall when let down; its side area
 *   L t is the same in both, so D_wound = sqrt(d^2 + 4 L t / pi), hole let down = sqrt(D^2 - 4 L t / pi), and
 *   coils are the radial build over t. Hooks, hub, bridle and the stiff last coils at both ends are left out.
 * - open spring: wound as above; let down, the coils are taken as spread evenly from the arbor to the outside.
 *
 * Closed forms, derived here.
 */
export function windingOf(power: Power, position: string): Winding {
  switch (power.kind) {
    case "turns":
      return {
        winding: { by: power.kind, turns: { value: power.turns }, model: "turns as given" },
        findings: [],
      };
    case "weight": {
      const fold = power.pulley ? 2 : 1;
      const turns = measuredFrom(
        [power.dropMm, power.drumMm, power.lineMm],
        ([drop, drum, line]) => (fold * drop!) / (Math.PI * (drum! + line!)),
      );
      const model = `weight's drop${power.pulley ? ", doubled by its pulley," : ""} over the circumference at the middle of the line; one layer on the drum`;
      return { winding: { by: power.kind, turns, model }, findings: [] };
    }
    case "barrel":
    case "open spring":
      return springWinding(power, position);
  }
}

function springWinding(power: Extract<Power, { kind: "barrel" | "open spring" }>, position: string): Winding {
  const outer = power.kind === "barrel" ? power.insideMm : power.letDownMm;
  const inputs = [outer, power.arborMm, power.spring.lengthMm, power.spring.thicknessMm];
  const [D, d, L, t] = inputs.map(({ value }) => value) as [number, number, number, number];
  const filledShare = shareFilled(D, d, L, t);
  if (filledShare > 1) {
    const text = `the mainspring (${L.toFixed(0)} x ${t} mm) takes ${Math.round(100 * filledShare)} % of the room between arbor and ${power.kind === "barrel" ? "barrel wall" : "outside of the spring"}: it cannot lie in there`;
    return {
      findings: [
        {
          code: "spring-too-large",
          severity: "fault",
          text,
          advice: "measure the spring and the room again",
          line: power.line,
          position,
        },
      ],
    };
  }
  const letDown = power.kind === "barrel" ? coilsInBarrel : coilsInLoop;
  const from = (f: (D: number, d: number, L: number, t: number) => number): Measured =>
    measuredFrom(inputs, ([D, d, L, t]) => f(D!, d!, L!, t!));
  const coilsWound = from(coilsOnArbor);
  const coilsLetDown = from(letDown);
  const free = from((D, d, L, t) => coilsOnArbor(D, d, L, t) - letDown(D, d, L, t));
  const stopped = power.stopWorkTurns !== undefined && power.stopWorkTurns < free.value;
  const turns: Measured = stopped ? { value: power.stopWorkTurns } : free;
  const findings: TrainFinding[] = [];
  // What the spring's sizes leave open is no finding.
  if (power.stopWorkTurns !== undefined && power.stopWorkTurns > free.value + 2 * (free.u ?? 0))
    findings.push({
      code: "stop-work-beyond-spring",
      severity: "watch",
      text: `the stop work allows ${power.stopWorkTurns} turns, but the spring gives about ${free.value.toFixed(1)}`,
      advice: "check the length and thickness of the spring: it may be a replacement",
      line: power.line,
      position,
    });
  if (power.kind === "barrel" && Math.abs(filledShare - 0.5) > 0.15)
    findings.push({
      code: "spring-fills-barrel-badly",
      severity: "note",
      text: `the spring fills ${Math.round(100 * filledShare)} % of the room in the barrel; half of it gives most turns`,
      line: power.line,
      position,
    });
  const model =
    (power.kind === "barrel"
      ? "coils lying solid, on the arbor when wound and against the wall when let down"
      : "coils lying solid on the arbor when wound, spread evenly up to the outside when let down") +
    (stopped
      ? "; limited by the stop work"
      : "; hooks and the stiff ends are left out, so count on up to a turn less");
  return {
    winding: {
      by: power.kind,
      turns,
      model,
      spring: {
        coilsWound,
        coilsLetDown,
        ...(power.kind === "barrel" && {
          filledShare: from(shareFilled),
          lengthForMostTurnsMm: from((D, d, _L, t) => (Math.PI * (D * D - d * d)) / (8 * t)),
        }),
      },
    },
    findings,
  };
}

const shareFilled = (D: number, d: number, L: number, t: number): number =>
  (4 * L * t) / (Math.PI * (D * D - d * d));

const coilsOnArbor = (_D: number, d: number, L: number, t: number): number =>
  (Math.sqrt(d * d + (4 * L * t) / Math.PI) - d) / (2 * t);

const coilsInBarrel = (D: number, _d: number, L: number, t: number): number =>
  (D - Math.sqrt(Math.max(0, D * D - (4 * L * t) / Math.PI))) / (2 * t);

const coilsInLoop = (D: number, d: number, L: number): number => (2 * L) / (Math.PI * (D + d));

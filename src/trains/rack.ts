import { measuredFrom } from "./measured.js";
import type { Rack } from "./movement.js";
import type { StrikeResult, TrainFinding } from "./result.js";

/**
 * Rack and snail. A step of the snail must move the rack by one tooth: step = tooth pitch x tail / rack radius
 * (both arms turn through the same angle; arcs taken for chords).
 */
export function rackOf(
  rack: Rack,
  trainName: string,
): { rack: NonNullable<StrikeResult["rack"]>; findings: readonly TrainFinding[] } {
  const findings: TrainFinding[] = [];
  const at = { line: rack.line, position: `${trainName}.rack` };
  if (rack.teeth !== undefined && rack.teeth < rack.snailSteps)
    findings.push({
      code: "rack-too-short",
      severity: "fault",
      text: `the rack has ${rack.teeth} teeth for a snail of ${rack.snailSteps} steps: the longest hour cannot be struck`,
      ...at,
    });
  const { snailHighMm, snailLowMm, radiusMm, toothPitchMm, tailMm, snailSteps } = rack;
  const step =
    snailHighMm &&
    snailLowMm &&
    measuredFrom([snailHighMm, snailLowMm], ([high, low]) => (high! - low!) / (snailSteps - 1));
  const wanted =
    radiusMm &&
    toothPitchMm &&
    tailMm &&
    measuredFrom([toothPitchMm, tailMm, radiusMm], ([pitch, tail, radius]) => (pitch! * tail!) / radius!);
  if (step !== undefined && wanted !== undefined) {
    // Set right at one o'clock, the error has grown to this many teeth at the last step.
    const teethOff = (snailSteps - 1) * (step.value / wanted.value - 1);
    if (Math.abs(teethOff) > 0.25)
      findings.push({
        code: "snail-steps-wrong",
        severity: Math.abs(teethOff) >= 0.5 ? "fault" : "watch",
        text: `the snail's steps are ${step.value.toFixed(2)} mm, the rack and its tail ask for ${wanted.value.toFixed(2)} mm: ${Math.abs(teethOff).toFixed(1)} of a tooth wrong at the last step`,
        advice:
          "check the tail's length and the snail; a new snail must have the steps that the rack asks for",
        ...at,
      });
  }
  return {
    rack: { ...(step && { snailStepMm: step }), ...(wanted && { snailStepWantedMm: wanted }) },
    findings,
  };
}

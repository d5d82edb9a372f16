import { expandedUncertainty, standardUncertainty } from "../../quantity/index.js";
import type { Finding, Part } from "../part.js";

/**
 * Where a deviation is worth a word. No standard gives limits for clock wheels; these are settings.
 * The larger eccentricity is the tenth of a module that a neighbouring trade allows for radial run-out of gears.
 */
export interface WheelLimits {
  /** Share of the module. */
  readonly watchEccentricity: number;
  readonly faultEccentricity: number;
  /** Share of the module. */
  readonly watchOvality: number;
}

export const usualLimits: WheelLimits = {
  watchEccentricity: 0.05,
  faultEccentricity: 0.1,
  watchOvality: 0.2,
};

/** What a repairer should know of this wheel, in order of urgency. */
export function checkWheel(wheel: Part, limits: WheelLimits = usualLimits): Finding[] {
  const findings = [
    ...checkTeeth(wheel),
    ...checkCentre(wheel, limits),
    ...checkForm(wheel, limits),
    ...checkDatum(wheel),
  ];
  const rank = { fault: 0, watch: 1, note: 2 } as const;
  return findings.sort((a, b) => rank[a.severity] - rank[b.severity]);
}

const degrees = (rad: number): string => `${((rad * 180) / Math.PI).toFixed(0)}°`;
const places = (list: readonly { readonly angleRad: number }[]): string =>
  list.map((p) => degrees(p.angleRad)).join(", ");

function checkTeeth({ teeth }: Part): Finding[] {
  if (teeth === undefined) return [];
  const findings: Finding[] = [];
  const say = (code: string, severity: Finding["severity"], text: string): void => {
    findings.push({ code, severity, text });
  };
  const many = (n: number, one: string, more: string): string => (n === 1 ? `1 ${one}` : `${n} ${more}`);
  if (teeth.missing.length > 0)
    say(
      "missing-teeth",
      "fault",
      `${many(teeth.missing.length, "tooth is", "teeth are")} missing, at ${places(teeth.missing)}; ` +
        "the count includes the empty places",
    );
  const short = teeth.places.filter((p) => p.state === "short");
  if (short.length > 0)
    say(
      "short-teeth",
      "fault",
      `${many(short.length, "tooth is", "teeth are")} short or broken, at ${places(short)}`,
    );
  if (teeth.bent.length > 0)
    say(
      "bent-teeth",
      "fault",
      `${many(teeth.bent.length, "tooth is", "teeth are")} bent, at ${places(teeth.bent)}`,
    );
  const unseen = teeth.places.filter((p) => p.state === "unseen").length;
  if (unseen > 0)
    say(
      "teeth-unseen",
      "note",
      `${many(unseen, "tooth place is", "tooth places are")} hidden or out of the picture`,
    );
  if (teeth.probability < 0.95) {
    const others = teeth.alternatives.map((a) => a.count).join(" or ");
    say(
      "count-not-sure",
      "watch",
      `the count is not sure: ${teeth.count}${others === "" ? "" : `, perhaps ${others}`}; ` +
        "take the photograph again from closer and straight above, in even light, or count by hand",
    );
  }
  return findings;
}

function checkCentre(
  { eccentricityMm: e, moduleMm: m, eccentricityEstimates: two }: Part,
  limits: WheelLimits,
): Finding[] {
  const findings: Finding[] = [];
  // Two centres that disagree are no ground for a fault: the wheel may lie askew.
  if (e !== undefined && m !== undefined && two?.agree !== false) {
    const sure = e.value - expandedUncertainty(e);
    const text =
      `the tooth circle is ${e.value.toFixed(2)} mm off the bore (± ${expandedUncertainty(e).toFixed(2)} mm), ` +
      `${((100 * e.value) / m.value).toFixed(0)} % of the module; the depth changes by as much each turn`;
    if (sure > limits.faultEccentricity * m.value)
      findings.push({ code: "eccentric", severity: "fault", text });
    else if (sure > limits.watchEccentricity * m.value)
      findings.push({ code: "eccentric", severity: "watch", text });
  }
  if (two !== undefined && !two.agree)
    findings.push({
      code: "estimates-disagree",
      severity: "watch",
      text:
        "tips and spacing of the teeth give different centres: the wheel may be tilted, bent or worn on one side; " +
        "lay it flat and take the photograph again",
    });
  return findings;
}

function checkForm({ ovalityMm: oval, moduleMm: m }: Part, limits: WheelLimits): Finding[] {
  if (oval === undefined || m === undefined) return [];
  if (!(oval.value - 2 * standardUncertainty(oval) > limits.watchOvality * m.value)) return [];
  return [
    {
      code: "oval",
      severity: "watch",
      text: `the tip circle is oval by ${oval.value.toFixed(2)} mm (greatest minus smallest diameter)`,
    },
  ];
}

function checkDatum({ boreDiameterMm, tipDiameterMm }: Part): Finding[] {
  if (tipDiameterMm === undefined || boreDiameterMm !== undefined) return [];
  return [
    {
      code: "bore-hidden",
      severity: "note",
      text:
        "the bore is not seen (arbor, collet or shadow), so one photograph cannot tell whether the wheel runs true; " +
        "take three or more, with the arbor turned between them",
    },
  ];
}

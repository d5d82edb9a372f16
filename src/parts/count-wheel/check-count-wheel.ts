import type { Finding, Notches } from "../part.js";

const degrees = (rad: number): string => `${((rad * 180) / Math.PI).toFixed(0)}°`;

/** What is wrong with a count wheel's notches, in words for the bench; without a scale no length is named. */
export function checkCountWheel(notches: Notches, scaled: boolean): Finding[] {
  const findings: Finding[] = [];
  const say = (code: string, severity: Finding["severity"], text: string): void =>
    void findings.push({ code, severity, text });
  const { sequence, blowsPerTurn } = notches;
  if (sequence === undefined) {
    say(
      "count-wheel-order",
      "watch",
      `the ${notches.notches.length} notches are in no standard order of hours, nor of hours and half hours; ` +
        "notches may be filled, or it strikes something else",
    );
    return findings;
  }
  for (const { angleRad, afterBlows } of notches.missing)
    say(
      "notch-missing",
      "fault",
      `no open notch at ${degrees(angleRad)}, where ${afterBlows} ${afterBlows === 1 ? "blow ends" : "blows end"}: ` +
        "it is filled or was never cut, and the clock strikes on into the next hour",
    );
  for (const { angleRad } of notches.extra)
    say(
      "notch-extra",
      "fault",
      `a notch at ${degrees(angleRad)} where the order of the strike wants none: the clock stops short there`,
    );
  for (const notch of notches.notches)
    if (notch.state === "shallow")
      say(
        "notch-shallow",
        "fault",
        `the notch at ${degrees(notch.angleRad)} is ${scaled && notch.depthMm !== undefined ? `only ${notch.depthMm.toFixed(1)} mm deep` : "less deep than the others"}: half filled, ` +
          "the detent may not drop far enough to lock",
      );
  const unseen = notches.notches.filter(({ state }) => state === "unseen");
  if (unseen.length > 0)
    say(
      "notch-unseen",
      "watch",
      `${unseen.length === 1 ? "the notch" : "the notches"} at ${unseen.map((n) => degrees(n.angleRad)).join(", ")} ` +
        "cannot be seen from here, closed by their own walls: the count supposes them, for the others' order wants " +
        "them; photograph the wheel from straight above",
    );
  const sound = findings.length === 0;
  say(
    "count-wheel-sum",
    "note",
    sound
      ? `the notches give ${blowsPerTurn} blows a turn, ${sequence === "hours" ? "1 to 12" : "1 to 12 with one at every half hour"}, all in order`
      : `the order is that of ${sequence}, ${blowsPerTurn} blows a turn, but for the places named`,
  );
  return findings;
}

import type { Mesh } from "./gearing.js";
import { measuredFrom } from "./measured.js";
import type { Gear, Measured } from "./movement.js";
import { Ratio, ratioJson } from "./ratio.js";
import type { MeshResult, TrainFinding } from "./result.js";

/**
 * Usual addenda in modules, of a driving wheel and of a driven pinion up to 10 leaves and from 11 (rules of
 * thumb: tip diameter (N + 2.76) m, (n + 1.71) m, (n + 1.61) m; common practice, after BS 978-2). Old work varies:
 * BS 978-2:1952 alone has wheel addenda from 1.26 to 1.94. The spread here is one standard uncertainty.
 */
const addenda = {
  wheel: { value: 1.38, u: 0.1 },
  fewLeaves: { value: 0.855, u: 0.1 },
  manyLeaves: { value: 0.805, u: 0.1 },
};

export const addendumOf = (gear: Pick<Gear, "kind">, count: number): { value: number; u: number } =>
  gear.kind === "wheel" ? addenda.wheel : count <= 10 ? addenda.fewLeaves : addenda.manyLeaves;

/** Measured outside size without a stated uncertainty: calipers on a worn part. */
const usualDiameterU = 0.05;

/** Centre distance taken with calipers over worn pivots, mm, where nothing else is stated. */
const usualDistanceU = 0.1;

export const distanceAsMeasured = ({ value, u }: Measured): Measured => ({ value, u: u ?? usualDistanceU });

/** Module of a gear, were it cut with this many teeth: from its tip diameter, else as given. */
export function moduleIfMm(gear: Gear, count: number): Measured | undefined {
  if (gear.tipDiameterMm !== undefined) {
    const tip = { value: gear.tipDiameterMm.value, u: gear.tipDiameterMm.u ?? usualDiameterU };
    return measuredFrom([tip, addendumOf(gear, count)], ([d, addendum]) => d! / (count + 2 * addendum!));
  }
  if (gear.moduleMm === undefined) return undefined;
  // A module that was measured with one count stands for a size: with another count it is another module.
  const counted = gear.moduleCount ?? (gear.teeth === "missing" ? count : gear.teeth);
  const factor = counted / count;
  return { value: gear.moduleMm.value * factor, u: (gear.moduleMm.u ?? 0.01 * gear.moduleMm.value) * factor };
}

/** What the sizes of two gears in mesh say about each other. */
export function meshResult(mesh: Mesh): { result: MeshResult; findings: readonly TrainFinding[] } {
  const { driver, driven, centreDistanceMm } = mesh;
  const n = driver.teeth === "missing" ? undefined : driver.teeth;
  const m = driven.teeth === "missing" ? undefined : driven.teeth;
  const driverModule = n === undefined ? undefined : moduleIfMm(driver, n);
  const drivenModule = m === undefined ? undefined : moduleIfMm(driven, m);
  const findings: TrainFinding[] = [];
  if (driverModule && drivenModule && driver.position !== driven.position) {
    const difference = driverModule.value - drivenModule.value;
    const u = Math.hypot(driverModule.u ?? 0, drivenModule.u ?? 0, 0.01 * driverModule.value);
    if (Math.abs(difference) > 3 * u)
      findings.push({
        code: "mates-differ",
        severity: "watch",
        text: `${driver.words} has module ${driverModule.value.toFixed(3)} mm, but ${driven.words} ${drivenModule.value.toFixed(3)} mm: they are not a pair`,
        advice: "one of the two may be a replacement, or is miscounted",
        line: driven.line,
        position: driven.position,
      });
  }
  const module = driverModule ?? drivenModule;
  const wanted =
    module && n !== undefined && m !== undefined
      ? measuredFrom([module], ([size]) => (size! * (n + m)) / 2)
      : undefined;
  if (wanted && centreDistanceMm) {
    const difference = centreDistanceMm.value - wanted.value;
    const u = Math.hypot(wanted.u ?? 0, distanceAsMeasured(centreDistanceMm).u!);
    if (Math.abs(difference) > 3 * u)
      findings.push({
        code: "depth-wrong",
        severity: "watch",
        text: `${driver.words} and ${driven.words} ask for a centre distance of ${wanted.value.toFixed(2)} mm, the plates give ${centreDistanceMm.value.toFixed(2)} mm: the depth is ${difference > 0 ? "shallow" : "deep"}`,
        advice: "check the counts, the bushes, and whether one of the two is a replacement",
        line: driven.line,
        position: driven.position,
      });
  }
  return {
    result: {
      driver: driver.position,
      driven: driven.position,
      train: mesh.train,
      arbor: mesh.arbor,
      ...(n !== undefined && m !== undefined && { gearRatio: ratioJson(Ratio.of(n, m)) }),
      ...(driverModule && { driverModuleMm: driverModule }),
      ...(drivenModule && { drivenModuleMm: drivenModule }),
      ...(centreDistanceMm && { centreDistanceMm }),
      ...(wanted && { centreDistanceWantedMm: wanted }),
    },
    findings,
  };
}

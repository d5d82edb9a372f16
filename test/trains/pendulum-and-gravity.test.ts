import { expect, test } from "vitest";
import derham from "../reference/derham/trains.json" with { type: "json" };
import lengths from "../reference/pendulum/lengths.json" with { type: "json" };
import {
  beatsOfPendulum,
  circularErrorSecondsPerDay,
  gravityAt,
  normalGravityMps2,
  pendulumLengthMm,
  standardGravityMps2,
} from "../../src/trains/index.js";

const rad = (deg: number) => (deg * Math.PI) / 180;
const inch = 25.4;

// Source: GRS 80, H. Moritz, Journal of Geodesy 74 (2000) 128-133; see reference/pendulum/SOURCE.md.
test.each([
  [0, 9.7803267715],
  [90, 9.8321863685],
  [-90, 9.8321863685],
  [45, 9.806199203], // from memory of Moritz's table
])("normal gravity at %d degrees is that of GRS 80", (latitude, published) => {
  // One unit in the last of the ten published figures.
  expect(Math.abs(normalGravityMps2(rad(latitude)) - published)).toBeLessThan(1e-9);
});

// Source: documentation of the crate geopotential, after Heiskanen and Moritz: 308.5 mGal less a kilometre up.
test("a kilometre up, gravity is 308.5 mGal less", () => {
  const drop = (normalGravityMps2(rad(45)) - normalGravityMps2(rad(45), 1000)) * 1e5;
  expect(drop).toBeCloseTo(308.5, 1);
});

test("the older gravity formula of 1967/1980 in sines agrees to 5 µm/s²", () => {
  // g = 9.780327 (1 + 0.0053024 sin^2 - 0.0000058 sin^2 2phi), IAG 1980 in its usual short form (from memory).
  for (let latitude = -90; latitude <= 90; latitude += 7.5) {
    const s = Math.sin(rad(latitude)) ** 2;
    const s2 = Math.sin(rad(2 * latitude)) ** 2;
    expect(normalGravityMps2(rad(latitude))).toBeCloseTo(9.780327 * (1 + 0.0053024 * s - 0.0000058 * s2), 5);
  }
});

test("a latitude of 200 degrees is refused", () => {
  expect(() => normalGravityMps2(rad(200))).toThrow(/between -90 and 90/);
});

test("a measured gravity wins over the latitude, and without a place it is the standard one", () => {
  const given = { value: 9.8, u: 0.001 };
  expect(gravityAt({ latitudeRad: 1, gravityMps2: given, line: 1 })).toEqual({
    valueMps2: 9.8,
    uMps2: 0.001,
    from: "given",
  });
  expect(gravityAt({ latitudeRad: 1, gravityMps2: { value: 9.8 }, line: 1 })).toEqual({
    valueMps2: 9.8,
    from: "given",
  });
  // Source: 3rd CGPM 1901.
  expect(gravityAt(undefined)).toMatchObject({ valueMps2: 9.80665, from: "standard" });
});

test("without a place, two standard uncertainties reach from the equator to the poles", () => {
  const { valueMps2, uMps2 } = gravityAt(undefined);
  // Source: GRS 80, normal gravity 9.7803 and 9.8322 m/s².
  expect(valueMps2 - 2 * uMps2!).toBeLessThan(9.7803);
  expect(valueMps2 + 2 * uMps2!).toBeGreaterThan(9.8322);
});

// Source: W. Duane, A Military Dictionary, 1810. The old figures lie within 0.025 in of the modern ones.
test.each(lengths.byLatitude.rows)("seconds pendulum at latitude %d, Duane 1810", (latitude, publishedIn) => {
  const lengthIn = pendulumLengthMm(3600, normalGravityMps2(rad(latitude))) / inch;
  expect(Math.abs(lengthIn - publishedIn)).toBeLessThan(0.025);
});

// Sources: Griffiths, The Artillerist's Manual (39.14, 9.8, 2.45 in), for London; the last digit printed is 0.01 in.
test.each(lengths.singles.filter(({ source }) => !source.startsWith("W. Derham")))(
  "pendulum of $t s is $inches in (Griffiths)",
  ({ inches, t }) => {
    const lengthIn = pendulumLengthMm(3600 / t, normalGravityMps2(rad(51.5))) / inch;
    expect(Math.abs(lengthIn - inches)).toBeLessThan(inches < 10 && inches > 5 ? 0.05 : 0.01);
  },
);

// Source: Derham 1696: length x vibrations^2 = 141120 (inches, a minute), that is 39.2 in for seconds.
const slips = new Set([6, 100]);
test.each(derham.pendulumTable.rows.filter(([length]) => !slips.has(length!)))(
  "Derham's table: %d in makes %d vibrations a minute",
  (lengthIn, perMinute) => {
    // Gravity in which 39.2 in beats seconds, as the book assumes.
    const gravity = ((39.2 * inch) / 1000) * Math.PI ** 2;
    // Printed to 0.1, cut off rather than rounded in places.
    expect(Math.abs(beatsOfPendulum(lengthIn * inch, gravity) / 60 - perMinute)).toBeLessThan(0.1);
  },
);

// Closed form L = g t^2 / pi^2 worked out apart (references: 993.62, 248.41, 62.10 mm at 9.80665).
test.each([
  [3600, 993.62],
  [7200, 248.41],
  [14400, 62.1],
  [18000, 39.74],
])("%d beats an hour need %d mm at standard gravity", (beats, mm) => {
  expect(pendulumLengthMm(beats, standardGravityMps2)).toBeCloseTo(mm, 2);
  expect(beatsOfPendulum(pendulumLengthMm(beats, standardGravityMps2), standardGravityMps2)).toBeCloseTo(
    beats,
    8,
  );
});

// Series theta^2/16 + 11 theta^4/3072 of the period, 86400 s a day.
test.each([1, 2, 3, 5, 10])("circular error at a semi-arc of %d degrees follows the series", (arc) => {
  const series = 86400 * (rad(arc) ** 2 / 16 + (11 * rad(arc) ** 4) / 3072);
  // The next term is 173 theta^6 / 737280: under 0.6 ms a day at 10 degrees.
  expect(circularErrorSecondsPerDay(rad(arc))).toBeCloseTo(series, arc > 5 ? 2 : 4);
});

test("the pendulum's exact period at a semi-arc of 60 degrees is 1.0731820 of the small one", () => {
  // Source: complete elliptic integral K(sin 30 deg) = 1.6857503548 (Abramowitz and Stegun, table 17.2), x 2/pi.
  const factor = 1.6857503548 * (2 / Math.PI);
  const small = beatsOfPendulum(1000, 9.8);
  expect(small / beatsOfPendulum(1000, 9.8, rad(60))).toBeCloseTo(factor, 9);
});

test("a pendulum that swings wide is made shorter by twice the share that it would lose", () => {
  const shorter = 1 - pendulumLengthMm(3600, 9.8, rad(3)) / pendulumLengthMm(3600, 9.8);
  expect(shorter).toBeCloseTo((2 * circularErrorSecondsPerDay(rad(3))) / 86400, 6);
});

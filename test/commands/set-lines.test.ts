import { expect, test } from "vitest";
import { setLines } from "../../src/commands/set-lines.js";

test("nothing is said where there are no sets", () => {
  expect(setLines([])).toEqual([]);
});

test("a set's values stand with ± (k = 2), limits and findings; names cannot steer the terminal", () => {
  const text = setLines([
    {
      kind: "play",
      label: "T2\u001b[2J",
      photos: ["a.jpg", "b.jpg"],
      radial_play_mm: { value: 0.0834, u: 0.011 },
      twist_deg: { value: 0, u: 0.1 },
      detection_limits: { radial_play_mm: 0.041, twist_deg: 0.2 },
      verdict: "loose",
      findings: [{ code: "loose-radial", severity: "fault", text: "it moves" }],
    },
    { kind: "turn", photos: ["a.jpg"], eccentricity_mm: { value: 0.1, u: 0.005 } },
  ]).join("\n");
  expect(text).toContain("2 photographs: loose");
  expect(text).toContain("sideways play 0.083 ± 0.022 mm; seen from 0.04 mm on");
  expect(text).toContain("fault: it moves");
  expect(text).toContain("eccentricity 0.100 ± 0.010 mm");
  expect(text).not.toContain("\u001b");
});

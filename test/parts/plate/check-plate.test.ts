import { expect, test } from "vitest";
import type { Part } from "../../../src/parts/index.js";
import { checkPlate } from "../../../src/parts/plate/check-plate.js";

test("of a plate that flash has made white it is said that holes may not be seen", () => {
  const plate = { holes: [], plate: { isCutOff: false } } as unknown as Part;
  expect(checkPlate(plate, false)).toEqual([]);
  const [finding] = checkPlate(plate, true);
  expect(finding!.code).toBe("plate-too-bright");
  expect(finding!.text).toContain("without flash");
});

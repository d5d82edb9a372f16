import { readFile } from "node:fs/promises";
import { expect, test } from "vitest";
import { surveyCsv } from "../../src/report/index.js";
import { inventedSurvey } from "../report/invented-survey.js";

test("the README names the columns of measurements.csv, in their order", async () => {
  const readme = await readFile(new URL("../../README.md", import.meta.url), "utf8");
  const table = /\| column\s*\| is\s*\|\n.*\n((?:\|.*\n)+)/.exec(readme)?.[1];
  const named = [...(table ?? "").matchAll(/^\|([^|]*)\|/gm)].flatMap(([, cell]) =>
    [...cell!.matchAll(/`(\w+)`/g)].map(([, name]) => name),
  );
  const { survey } = await inventedSurvey();
  const [header] = surveyCsv(survey).replace("\uFEFF", "").split("\r\n");
  expect(named).toEqual(header!.split(","));
});

import { HtmlValidate, StaticConfigLoader } from "html-validate";
import { describe, expect, test } from "vitest";
import { evaluateTrains } from "../../src/commands/report-trains.js";
import { prepareReport, renderHtml } from "../../src/report/index.js";
import { exampleMovements } from "../../src/trains/index.js";
import { movementOf } from "../trains/evaluated.js";
import { inventedSurvey } from "./invented-survey.js";

describe("the HTML of the report by an HTML validator", () => {
  const validator = new HtmlValidate(
    new StaticConfigLoader({ extends: ["html-validate:standard", "html-validate:a11y"] }),
  );

  async function complaints(html: string): Promise<string[]> {
    // The bytes of pictures and fonts say nothing about the markup, and take long to read.
    const short = html.replace(/data:[a-z/0-9+-]+;base64,[A-Za-z0-9+/=]+/g, "data:x");
    const { results } = await validator.validateString(short);
    return results.flatMap(({ messages }) =>
      messages.map(({ ruleId, line, message }) => `${ruleId}, line ${line}: ${message}`),
    );
  }

  test("finds fault with a page that has some", async () => {
    const bad = (body: string): string =>
      `<!DOCTYPE html>\n<html lang="en"><head><title>x</title></head><body>${body}</body></html>\n`;
    expect((await complaints(bad('<p id="a">1</p><p id="a">2</p>'))).join()).toContain("no-dup-id");
    expect((await complaints(bad("<p><ul><li>1</li></ul></p>"))).length).toBeGreaterThan(0);
  });

  test("finds none with the report, whatever people wrote", async () => {
    const words = `</title><script>1</script>" onload='x' <b>é\u202E${"W".repeat(2000)}`;
    for (const statement of [{}, { title: words, notice: words, remarks: words, planned_work: [words] }]) {
      const { survey, photos } = await inventedSurvey(statement);
      const movement = movementOf(exampleMovements.get("missing-wheel")!);
      const { result, papers } = await evaluateTrains(movement, survey.measurement.photos);
      const { content, pictures, fontFaces } = await prepareReport(
        { ...survey, trains: result },
        (i) => Promise.resolve(photos[i]),
        { papers },
      );
      expect(await complaints(renderHtml(content, pictures, { fontFaces }))).toEqual([]);
    }
  }, 120_000);
});

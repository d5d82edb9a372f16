import { beforeAll, describe, expect, test } from "vitest";
import { evaluateTrains } from "../../src/commands/report-trains.js";
import { prepareReport, renderHtml } from "../../src/report/index.js";
import { exampleMovements } from "../../src/trains/index.js";
import { movementOf } from "../trains/evaluated.js";
import { inventedSurvey } from "./invented-survey.js";

/** As much of html-validate's interface as is called here. */
interface Validator {
  validateString(html: string): Promise<{
    readonly results: readonly {
      readonly messages: readonly {
        readonly ruleId: string;
        readonly line: number;
        readonly message: string;
      }[];
    }[];
  }>;
}
interface ValidatorModule {
  readonly HtmlValidate: new (loader: unknown) => Validator;
  readonly StaticConfigLoader: new (config: unknown) => unknown;
}

// By name, so that the types do not need it: where it is not installed nothing here can be told.
const packageName = "html-validate";
const module = await import(packageName).then(
  (loaded: unknown) => loaded as ValidatorModule,
  () => undefined,
);

describe.skipIf(module === undefined)("the HTML of the report by an HTML validator", () => {
  let validator: Validator;
  beforeAll(() => {
    const { HtmlValidate, StaticConfigLoader } = module!;
    validator = new HtmlValidate(
      new StaticConfigLoader({ extends: ["html-validate:standard", "html-validate:a11y"] }),
    );
  });

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

import { copyFile, mkdir, mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { join, relative, sep } from "node:path";
import { fileURLToPath } from "node:url";
import ts from "typescript";
import { afterAll, beforeAll, describe, expect, test, vi } from "vitest";

// The README's examples are compiled against the library's own types, strictly, and run on samples.

const project = fileURLToPath(new URL("../..", import.meta.url));
const library = join(project, "src", "index.ts");
const samples = join(project, "samples", "demo-survey");
const examples = indentedBlocks(await readFile(join(project, "README.md"), "utf8")).filter((text) =>
  text.includes('from "wheelsurvey"'),
);

let folder: string;
const before = process.cwd();

beforeAll(async () => {
  await mkdir(join(project, "out"), { recursive: true });
  // Within the project, so that types of Node are found from there.
  folder = await mkdtemp(join(project, "out", "examples-"));
  await copyFile(join(samples, "photos", "01-centre-wheel.jpg"), join(folder, "t2.jpg"));
  await copyFile(join(samples, "photos", "04-pin-wheel-eccentric.jpg"), join(folder, "s2.jpg"));
  await copyFile(join(samples, "movement.yaml"), join(folder, "movement.yaml"));
  process.chdir(folder);
});
afterAll(async () => {
  process.chdir(before);
  await rm(folder, { recursive: true });
});

test("the README shows the library at work", () => {
  expect(examples.length).toBeGreaterThanOrEqual(3);
});

describe.each(examples.map((text, i) => ({ number: i + 1, text })))("example $number", ({ number, text }) => {
  test("compiles", async () => {
    const file = join(folder, `typed-${number}.mts`);
    await writeFile(file, text);
    expect(typeMistakes(file)).toEqual([]);
  });

  test("runs, and says something", async () => {
    const file = join(folder, `run-${number}.mts`);
    const entry = relative(folder, library).split(sep).join("/");
    await writeFile(file, text.replaceAll('"wheelsurvey"', JSON.stringify(entry)));
    const said = vi.spyOn(console, "log").mockImplementation(() => undefined);
    try {
      await import(/* @vite-ignore */ file);
      const words = said.mock.calls.map(([line]) => String(line));
      for (const line of expected[number - 1]!) expect(words).toContainEqual(expect.stringMatching(line));
    } finally {
      said.mockRestore();
    }
  });
});

/** T2 has 78 teeth by its truth document; the movement file leaves the pinion of the third arbor open. */
const expected: readonly (readonly RegExp[])[] = [
  [/: 78 teeth$/, /^ {2}tip diameter \d+\.\d+ mm, ± 0\.\d+ mm \(k = 2\)$/],
  [/^t2\.jpg: \d+ parts$/, /^s2\.jpg: \d+ parts$/],
  [/^not known yet: .*pinion/],
];

test("a wrong example would not compile", async () => {
  const file = join(folder, "wrong.mts");
  await writeFile(file, 'import { measurePhoto } from "wheelsurvey";\nawait measurePhoto(7);\n');
  expect(typeMistakes(file)).toEqual([expect.stringContaining("not assignable")]);
});

/** Blocks of Markdown that are indented by four spaces, without the indentation. */
function indentedBlocks(markdown: string): string[] {
  const blocks = markdown.matchAll(/(?<=\n\n)(?: {4}.*\n|\n(?= {4}))+/g);
  return [...blocks].map(([block]) => block.replaceAll(/^ {4}/gm, ""));
}

function typeMistakes(file: string): string[] {
  const { config } = ts.readConfigFile(join(project, "tsconfig.json"), (path) => ts.sys.readFile(path)) as {
    config: { compilerOptions: object };
  };
  const { options } = ts.convertCompilerOptionsFromJson(config.compilerOptions, project);
  const program = ts.createProgram([file], {
    ...options,
    noEmit: true,
    baseUrl: project,
    paths: { wheelsurvey: [library] },
  });
  return ts
    .getPreEmitDiagnostics(program, program.getSourceFile(file))
    .map(({ messageText }) => ts.flattenDiagnosticMessageText(messageText, " "));
}

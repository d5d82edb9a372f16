import { readdirSync, readFileSync } from "node:fs";
import { dirname, join, posix, sep } from "node:path";
import { fileURLToPath } from "node:url";
import ts from "typescript";
import { describe, expect, test } from "vitest";

// Data flows one way. Rooms in order; each may import what its row names, through that room's index.ts.
const floor = ["problem", "quantity", "geometry", "fit"];
const mayImport: Readonly<Record<string, readonly string[]>> = {
  problem: [],
  quantity: ["problem"],
  geometry: ["problem"],
  fit: ["problem", "quantity", "geometry"],
  mat: floor,
  photo: floor,
  segment: [...floor, "photo"],
  view: [...floor, "photo", "mat"],
  parts: [...floor, "photo", "view", "segment"],
  survey: [...floor, "photo", "view", "parts"],
  trains: floor,
  record: [...floor, "mat", "photo", "segment", "view", "parts", "survey", "trains"],
  pipeline: [...floor, "mat", "photo", "segment", "view", "parts", "survey", "trains", "record"],
  report: [...floor, "photo", "record"],
  page: [
    ...[...floor, "mat", "photo", "segment", "view", "parts", "survey", "trains"],
    ...["record", "pipeline", "report"],
  ],
};
/** Not rooms but the house: they may import every room, and commands by their files. */
const house = ["commands", "cli.ts", "index.ts"];

interface Import {
  readonly specifier: string;
  readonly typeOnly: boolean;
}

/** Every module that a source file names: static, dynamic, re-exported, types included. */
function importsOf(source: string, name: string): Import[] {
  const kind = name.endsWith("x") ? ts.ScriptKind.TSX : ts.ScriptKind.TS;
  const found: Import[] = [];
  const visit = (node: ts.Node): void => {
    if ((ts.isImportDeclaration(node) || ts.isExportDeclaration(node)) && node.moduleSpecifier) {
      const typeOnly = ts.isImportDeclaration(node)
        ? node.importClause?.phaseModifier === ts.SyntaxKind.TypeKeyword
        : node.isTypeOnly;
      found.push({ specifier: (node.moduleSpecifier as ts.StringLiteral).text, typeOnly });
    } else if (ts.isImportTypeNode(node) && ts.isLiteralTypeNode(node.argument)) {
      found.push({ specifier: (node.argument.literal as ts.StringLiteral).text, typeOnly: true });
    } else if (ts.isCallExpression(node) && node.expression.kind === ts.SyntaxKind.ImportKeyword) {
      const [argument] = node.arguments;
      const specifier = argument && ts.isStringLiteralLike(argument) ? argument.text : "(computed)";
      found.push({ specifier, typeOnly: false });
    }
    ts.forEachChild(node, visit);
  };
  visit(ts.createSourceFile(name, source, ts.ScriptTarget.Latest, true, kind));
  return found;
}

/**
 * What a file does against the table, as sentences; none when it keeps to it.
 * @param file path below src/ with forward slashes.
 */
function breachesOf(file: string, source: string): string[] {
  const room = file.split("/")[0]!;
  const allowed = mayImport[room];
  if (!allowed && !house.includes(room)) return [`${file}: "${room}" is no room of the table`];
  const breaches: string[] = [];
  for (const { specifier, typeOnly } of importsOf(source, file)) {
    if (specifier === "(computed)") {
      breaches.push(`${file}: import of a computed name`);
      continue;
    }
    if (!specifier.startsWith(".")) continue;
    const target = posix.join(posix.dirname(file), specifier);
    const targetRoom = target.split("/")[0]!;
    if (target.startsWith("..") || targetRoom === room) continue;
    const say = (what: string): void => void breaches.push(`${file}: imports ${specifier}, ${what}`);
    if (allowed) {
      const more = file === "trains/from-survey.ts" ? ["survey"] : [];
      if (!allowed.includes(targetRoom) && !more.includes(targetRoom))
        say(`but ${room} may not know ${targetRoom}`);
      if (file.startsWith("page/client/") && !(targetRoom === "record" && typeOnly))
        say("but page/client may know only types of record");
    }
    const throughTheDoor = target === `${targetRoom}/index.js`;
    const houseToCommand = house.includes(room) && targetRoom === "commands";
    if (!throughTheDoor && !houseToCommand) say(`not through ${targetRoom}/index.js`);
  }
  return breaches;
}

const src = join(dirname(fileURLToPath(import.meta.url)), "..", "src");
const files = readdirSync(src, { recursive: true, encoding: "utf8" })
  .map((file) => file.split(sep).join("/"))
  .filter((file) => /\.tsx?$/.test(file) && !file.endsWith(".d.ts"));

describe("rooms of src", () => {
  test("every import goes to a room above, through its index", () => {
    const breaches = files.flatMap((file) => breachesOf(file, readFileSync(join(src, file), "utf8")));
    expect(breaches).toEqual([]);
    expect(files.length).toBeGreaterThan(25);
  });

  test("every room has an index whose first comment says what it is", () => {
    const rooms = new Set(files.filter((file) => file.includes("/")).map((file) => file.split("/")[0]!));
    rooms.delete("commands");
    for (const room of rooms) {
      expect(files, room).toContain(`${room}/index.ts`);
      expect(readFileSync(join(src, room, "index.ts"), "utf8"), room).toMatch(/^\/\*\*/);
    }
    expect(rooms.size).toBeGreaterThanOrEqual(8);
  });

  test("no room is a drawer for everything", () => {
    const drawers = files.filter((file) => /(^|\/)(utils?|helpers?|common|misc|shared)(\/|\.)/.test(file));
    expect(drawers).toEqual([]);
  });

  test("the table only points upwards", () => {
    const order = Object.keys(mayImport);
    for (const [room, above] of Object.entries(mayImport))
      for (const other of above)
        expect(order.indexOf(other), `${room} -> ${other}`).toBeLessThan(order.indexOf(room));
  });
});

describe("the check itself", () => {
  test.each([
    ["mat/a.ts", `import { x } from "../view/index.js";`],
    ["mat/a.ts", `import type { X } from "../view/index.js";`],
    ["mat/a.ts", `export type { X } from "../view/index.js";`],
    ["mat/a.ts", `let x: import("../view/index.js").X;`],
    ["mat/a.ts", `const x = await import("../view/index.js");`],
    ["mat/a.ts", `const x = await import(name);`],
    ["view/a.ts", `import { x } from "../mat/sheet.js";`],
    ["view/deep/a.ts", `import { x } from "../../parts/index.js";`],
    ["trains/a.ts", `import { x } from "../survey/index.js";`],
    ["report/a.tsx", `import { x } from "../parts/index.js"; const b = <b>{x}</b>;`],
    ["page/client/a.ts", `import { x } from "../../record/index.js";`],
    ["photo/a.ts", `import { x } from "../cli.js";`],
    ["commands/a.ts", `import { x } from "../mat/sheet.js";`],
    ["odds/a.ts", ``],
  ])("refuses in %s: %s", (file, source) => {
    expect(breachesOf(file, source).length).toBeGreaterThan(0);
  });

  test.each([
    ["view/a.ts", `import { x } from "../mat/index.js"; import y from "./b.js"; import sharp from "sharp";`],
    ["view/deep/a.ts", `import { x } from "../../mat/index.js"; import y from "../b.js";`],
    ["trains/from-survey.ts", `import type { X } from "../survey/index.js";`],
    ["page/client/a.ts", `import type { X } from "../../record/index.js";`],
    ["cli.ts", `const { add } = await import("./commands/mat.js");`],
    ["commands/a.ts", `import { x } from "../mat/index.js"; import y from "./b.js";`],
  ])("accepts in %s: %s", (file, source) => {
    expect(breachesOf(file, source)).toEqual([]);
  });
});

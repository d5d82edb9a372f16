import { describe, expect, test } from "vitest";
import { parse } from "yaml";
import { withYamlValue } from "../../../src/page/server/yaml-change.js";
import { exampleMovements, readMovement } from "../../../src/trains/index.js";

describe("one value of a hand-written file", () => {
  const text = `# my clock\ntitle: Old # of 1990\nIdentification:\n  Date_or-Period: "?"\n`;

  test("is changed where it stands, however its key is spelt; comments and everything else stay", () => {
    const changed = withYamlValue(text, ["identification", "date or period"], "about 1880");
    expect(changed).toBe(`# my clock\ntitle: Old # of 1990\nIdentification:\n  Date_or-Period: about 1880\n`);
  });

  test("is added, with the groups it needs, and taken away again", () => {
    const added = withYamlValue("", ["owner", "name"], "nobody (invented)");
    expect(added).toBe("owner:\n  name: nobody (invented)\n");
    expect(withYamlValue(added, ["owner", "name"], null)).toBe("owner: {}\n");
  });

  test("a name alone becomes a group when a second thing is said of it", () => {
    expect(withYamlValue("owner: nobody\n", ["owner", "contact"], "none")).toBe(
      "owner:\n  name: nobody\n  contact: none\n",
    );
  });

  test("words that YAML would take for something else come back as words", () => {
    for (const value of ["yes", "1e3", "- a: b", "&x", "*x", "#no", "? what", '"', "two\nlines", "{a}"]) {
      const written = withYamlValue("a: 1\n", ["title"], value);
      expect(parse(written)).toEqual({ a: 1, title: value });
      expect(parse(withYamlValue(written, ["b"], 2))).toEqual({ a: 1, title: value, b: 2 });
    }
  });

  test("every example movement stays what it is when a count is lost and found again", () => {
    let changed = 0;
    for (const movement of exampleMovements.values()) {
      const before = readMovement(movement);
      if (!before.ok) throw new Error("the example cannot be read");
      const train = before.value.trains[0]!;
      const arbor = train.arbors[1]!;
      const teeth = arbor.pinion!.teeth;
      const path = ["trains", train.name, "arbors", arbor.name, "pinion"];
      const lost = readMovement(withYamlValue(movement, path, "?"));
      expect(lost.ok && lost.value.trains[0]!.arbors[1]!.pinion!.teeth).toBe("missing");
      const found = readMovement(withYamlValue(withYamlValue(movement, path, "?"), path, teeth));
      expect(found.ok && found.value.trains[0]!.arbors.map(({ name, drivenBy }) => [name, drivenBy])).toEqual(
        train.arbors.map(({ name, drivenBy }) => [name, drivenBy]),
      );
      expect(found.ok && found.value.trains[0]!.arbors[1]!.pinion!.teeth).toBe(teeth);
      changed++;
    }
    expect(changed).toBeGreaterThan(3);
  });

  test("a text that is no YAML, or a path through a value, is refused", () => {
    expect(() => withYamlValue("a: [", ["b"], 1)).toThrow(/YAML/);
    expect(() => withYamlValue("a: [1, 2]", ["a", "b"], 1)).toThrow(/group of keys/);
    expect(() => withYamlValue("", [], 1)).toThrow();
  });
});

import type { SeededRandom } from "../../src/quantity/index.js";

const below = (random: SeededRandom, n: number): number => Math.min(n - 1, Math.floor(random.uniform() * n));

/** Numbers that readers of sizes and offsets stumble over. */
const awkward = [0, 1, 0x7f, 0x80, 0xff] as const;

/** Spoils bytes in one to eight ways: cut, flipped, overwritten, doubled, torn out, lengths changed. */
export function spoilBytes(bytes: Uint8Array, random: SeededRandom): Uint8Array {
  let out: Uint8Array = Uint8Array.from(bytes);
  const times = 1 + below(random, 8);
  for (let i = 0; i < times && out.length > 8; i++) {
    // Headers hold what the rest is read by: half of the blows land there.
    const at = random.uniform() < 0.5 ? below(random, Math.min(512, out.length)) : below(random, out.length);
    const length = 1 + below(random, Math.min(64, out.length - at));
    switch (below(random, 6)) {
      case 0:
        out[at]! ^= 1 << below(random, 8);
        break;
      case 1:
        out[at] = awkward[below(random, awkward.length)]!;
        break;
      case 2:
        out = out.slice(0, Math.max(8, at));
        break;
      case 3:
        out = joined(out.subarray(0, at + length), out.subarray(at, at + length), out.subarray(at + length));
        break;
      case 4:
        out = joined(out.subarray(0, at), out.subarray(at + length));
        break;
      default:
        for (let k = at; k < Math.min(out.length, at + 4); k++)
          out[k] = awkward[below(random, awkward.length)]!;
    }
  }
  return out;
}

const joined = (...pieces: Uint8Array[]): Uint8Array => Uint8Array.from(Buffer.concat(pieces));

/** What means something to YAML, JSON, HTML, spreadsheets and file systems. */
const hostile = [
  "&a [*a]",
  "*nobody",
  "!!js/function >",
  "<<: *a",
  "---\n",
  "? ",
  "|\n",
  "{",
  "}",
  "[",
  "]",
  "\t",
  "\0",
  "\u202e",
  "1e999",
  "-0",
  "NaN",
  ".inf",
  "0x",
  "2024-99-99",
  "'",
  '"',
  "=cmd|' /C calc'!A0",
  "<script>alert(1)</script>",
  "../../etc/passwd",
  "__proto__: {x: 1}",
  "constructor:",
  "\ud800",
  "𝔘",
  "999999999999999999999",
  ": : :",
  "#",
  "%",
] as const;

/** Spoils text in one to eight ways: letters, lines and indentation changed, hostile words put in. */
export function spoilText(text: string, random: SeededRandom): string {
  let out = text;
  const times = 1 + below(random, 8);
  for (let i = 0; i < times; i++) {
    const at = below(random, out.length + 1);
    const end = Math.min(out.length, at + below(random, 40));
    switch (below(random, 6)) {
      case 0:
        out = out.slice(0, at) + hostile[below(random, hostile.length)]! + out.slice(at);
        break;
      case 1:
        out = out.slice(0, at) + out.slice(end);
        break;
      case 2:
        out = out.slice(0, end) + out.slice(at, end) + out.slice(end);
        break;
      case 3:
        out = out.slice(0, at) + String.fromCharCode(below(random, 0x250)) + out.slice(at + 1);
        break;
      case 4: {
        const lines = out.split("\n");
        const [a, b] = [below(random, lines.length), below(random, lines.length)];
        [lines[a], lines[b]] = [lines[b]!, lines[a]!];
        out = lines.join("\n");
        break;
      }
      default:
        out = out.replace(/(\d+)/, () => `${hostile[below(random, hostile.length)]!}`);
    }
  }
  return out;
}

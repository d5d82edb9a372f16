import { readFile, writeFile } from "node:fs/promises";

/**
 * Puts text between `<!-- NAME:begin -->` and `<!-- NAME:end -->`, in place of what stood there.
 *
 * @throws Error if the marks are missing, twice, or the wrong way round.
 */
export function insertBetweenMarks(page: string, name: string, text: string): string {
  const [begin, end] = [`<!-- ${name}:begin -->`, `<!-- ${name}:end -->`];
  const head = page.split(begin);
  const tail = page.split(end);
  if (head.length !== 2 || tail.length !== 2 || head[0]!.length > tail[0]!.length)
    throw new Error(`expected ${begin} and, below it, ${end}, each once`);
  return `${head[0]!}${begin}\n\n${text.trim()}\n\n${end}${tail[1]!}`;
}

/** @throws Error if the file cannot be read or has no such marks. */
export async function writeBetweenMarks(path: string, name: string, text: string): Promise<void> {
  const page = await readFile(path, "utf8");
  try {
    await writeFile(path, insertBetweenMarks(page, name, text));
  } catch (cause) {
    throw new Error(`${path}: ${cause instanceof Error ? cause.message : String(cause)}`, { cause });
  }
}

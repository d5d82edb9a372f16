import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";
import { setFlagsFromString } from "node:v8";
import { Worker } from "node:worker_threads";

/**
 * Megabytes that a thread's heap may fill before V8 tidies all of it. Each such round forgets the compiled code of functions
 * that are not in use just then: with V8's own small heap, five times a photograph, they were compiled over and over.
 */
const untidiedMb = 64;

/** Starts a thread of this room. @param entry its file, without ending. */
export function newWorker(entry: "measure-worker" | "set-worker", workerData?: unknown): Worker {
  // Read when a thread's heap is made; heaps that are there already stay as they are.
  setFlagsFromString(`--initial-old-space-size=${untidiedMb}`);
  if (!import.meta.url.endsWith(".ts"))
    return new Worker(new URL(`./${entry}.js`, import.meta.url), { workerData });
  // Not built, as in tests: a thread starts without the loader for TypeScript, and must fetch it first.
  const tsx = createRequire(import.meta.url).resolve("tsx/package.json");
  const loader = new URL("dist/esm/api/index.mjs", pathToFileURL(tsx)).href;
  const path = new URL(`./${entry}.ts`, import.meta.url).href;
  const code = `import(${JSON.stringify(loader)}).then((tsx) =>
    tsx.tsImport(${JSON.stringify(path)}, ${JSON.stringify(import.meta.url)}));`;
  return new Worker(code, { eval: true, workerData });
}

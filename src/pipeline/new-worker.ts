import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";
import { Worker } from "node:worker_threads";

/** Starts a thread of this room. @param entry its file, without ending. */
export function newWorker(entry: "measure-worker" | "set-worker", workerData?: unknown): Worker {
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

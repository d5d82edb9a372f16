import { fileURLToPath } from "node:url";
import { defineConfig, type Plugin } from "vite";

const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));

/** Each is a file of its name in dist/program/: what is called, imported or started as a thread, and what is timed. */
const entries = {
  cli: here("src/cli.ts"),
  index: here("src/index.ts"),
  "measure-worker": here("src/pipeline/measure-worker.ts"),
  "set-worker": here("src/pipeline/set-worker.ts"),
  "measuring-steps": here("src/pipeline/measuring-steps.ts"),
};

/** The two files that the package names; all others lie as deep as a room of src/, so that paths from them agree. */
const doors: Plugin = {
  name: "doors",
  generateBundle() {
    const door = (fileName: string, source: string): void =>
      void this.emitFile({ type: "asset", fileName, source });
    door("cli.js", '#!/usr/bin/env node\nimport "./program/cli.js";\n');
    door("index.js", 'export * from "./program/index.js";\n');
  },
};

/**
 * The program itself: a few files instead of hundreds, for opening and linking those was a third of a second at every
 * start, and again in every thread. Packages stay outside. Types come from tsc.
 */
export default defineConfig({
  publicDir: false,
  oxc: { jsx: { runtime: "automatic", importSource: "preact" } },
  plugins: [doors],
  build: {
    ssr: true,
    target: "node20",
    outDir: here("dist"),
    emptyOutDir: false,
    sourcemap: true,
    minify: false,
    rolldownOptions: {
      input: entries,
      // No file of src/ does anything by being loaded, so that what is not used of a room is not loaded with it.
      treeshake: { moduleSideEffects: (id, external) => external || Object.values(entries).includes(id) },
      output: {
        format: "es",
        entryFileNames: "program/[name].js",
        chunkFileNames: "program/[name]-[hash].js",
      },
    },
  },
});

import { fileURLToPath } from "node:url";
import { defineConfig } from "vite";

const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));

/** Two pages: the one by the bench, and the small one for the phone's camera. */
export default defineConfig({
  root: here("./"),
  oxc: { jsx: { runtime: "automatic", importSource: "preact" } },
  build: {
    outDir: here("../../../dist/page/client/"),
    emptyOutDir: true,
    target: "es2022",
    // No data: addresses: the policy of the page allows files of its own only.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    rolldownOptions: { input: [here("./index.html"), here("./capture.html")] },
  },
});

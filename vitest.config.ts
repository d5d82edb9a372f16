import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    include: ["test/**/*.test.ts"],
    globalSetup: ["test/browser/bring-chromium.ts"],
    testTimeout: 60_000,
    hookTimeout: 120_000,
    // Two cores are the smallest machine we promise to work on.
    maxWorkers: 2,
  },
});

import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    include: ["test/**/*.test.ts"],
    globalSetup: ["test/browser/bring-chromium.ts"],
    testTimeout: 60_000,
    hookTimeout: 120_000,
    // A page on a busy machine takes its time; what is polled for comes, or it does not.
    expect: { poll: { timeout: 30_000, interval: 100 } },
    // Two cores are the smallest machine we promise to work on.
    maxWorkers: 2,
  },
});

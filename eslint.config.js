import tseslint from "typescript-eslint";

export default tseslint.config(
  { ignores: ["dist", "node_modules", "coverage", "samples", "models", "out", "demo-report"] },
  ...tseslint.configs.recommendedTypeChecked,
  {
    languageOptions: { parserOptions: { projectService: true } },
    rules: {
      // Kernels over typed arrays index inside proven bounds; the style allows "!" there.
      "@typescript-eslint/no-non-null-assertion": "off",
      "@typescript-eslint/consistent-type-imports": "error",
      "@typescript-eslint/switch-exhaustiveness-check": "error",
      eqeqeq: "error",
    },
  },
  { files: ["*.js"], ...tseslint.configs.disableTypeChecked },
  {
    files: ["src/**/*.ts", "src/**/*.tsx"],
    ignores: ["src/cli.ts", "src/commands/**"],
    rules: { "no-console": "error" },
  },
);

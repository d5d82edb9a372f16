// Makes the report of the demo survey: `npm run demo`. Needs what `npm ci` builds, nothing else.
import { spawnSync } from "node:child_process";
import { constants, cpSync, existsSync, mkdirSync, readdirSync, rmSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const project = fileURLToPath(new URL("..", import.meta.url));
const sample = join(project, "samples", "demo-survey");
const report = join(project, "demo-report");
const survey = join(report, "survey");
const program = join(project, "dist", "cli.js");

if (!existsSync(program)) {
  console.error(`${program}: not there; call "npm ci" (or "npm run build") first`);
  process.exit(2);
}
if (!existsSync(join(sample, "photos"))) {
  console.error(
    `${join(sample, "photos")}: not there; the sample photographs belong to the project's checkout`,
  );
  process.exit(2);
}

const started = performance.now();
// The report keeps its measurements in the survey folder, and the samples stay as they are: so it gets a copy.
rmSync(survey, { recursive: true, force: true });
mkdirSync(report, { recursive: true });
const left = ["truth", "results", "report"].map((name) => join(sample, name));
cpSync(sample, survey, {
  recursive: true,
  filter: (from) => !left.includes(from),
  mode: constants.COPYFILE_FICLONE,
});
const count = readdirSync(join(survey, "photos")).length;
console.error(`measuring ${count} rendered photographs of an invented movement ...`);

const args = [program, "report", survey, "--out", report, "--fresh"];
const { status, error } = spawnSync(process.execPath, args, { stdio: ["ignore", "ignore", "inherit"] });
// 3: the report is there, and says which photograph gave no part.
if (error || (status !== 0 && status !== 3)) {
  console.error(error ? error.message : `the report was not made (exit code ${status})`);
  process.exit(1);
}
console.log(`report after ${((performance.now() - started) / 1000).toFixed(0)} s:`);
for (const name of readdirSync(report).filter((file) => /\.(html|pdf|csv|json)$/.test(file)))
  console.log(`  ${join(report, name)}`);
console.log(`open ${pathToFileURL(join(report, "report.html")).href}`);

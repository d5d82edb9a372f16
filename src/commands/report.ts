import { Option, type Command } from "commander";
import type { CommandIo } from "./command-io.js";
import { readWorkers } from "./measure-options.js";

/** `wheelsurvey report`: a folder of photographs becomes a documented report. */
export function addReportCommand(program: Command, io: CommandIo): void {
  program
    .command("report")
    .description("measure the photographs of a survey folder and write the documented report")
    .argument("<folder>", "survey folder: photos/ and, if there is more to say, survey.yaml")
    .option("--out <dir>", "write the report here (default: report/ in the survey folder)")
    .addOption(
      new Option("--paper <size>", "size of the printed page (default: survey.yaml, else a4)").choices([
        "a4",
        "letter",
      ]),
    )
    .option("--inches", "inches beside millimetres")
    .option(
      "--private-data",
      "state the place (GPS) and serial numbers that the camera wrote; they are left out otherwise",
    )
    .option("--fresh", "measure every photograph again, also the unchanged ones")
    .option(
      "--workers <n>",
      "photographs measured at the same time (default: one for each core)",
      readWorkers,
    )
    .addHelpText("after", `\n${surveyHelp}`)
    .action(async (folder: string, options: object) => {
      const { runReport } = await import("./report-run.js");
      await runReport(folder, options, io);
    });
}

const surveyHelp = `survey.yaml, every line of it optional:

  title: Two-train movement
  reference: 0042
  owner: { name: ..., contact: ... }
  examiner: { name: ..., role: ... }
  examined on: 2025-03-01
  purpose: record for insurance
  identification:
    type of object: ...
    materials and techniques: ...
    inscriptions and markings: ...
    distinguishing features: ...
    date or period: ...
    maker: ...
  condition:
    - { part: T2, text: old solder on one crossing }
  planned work:
    - let down both mainsprings
  remarks: ...
  scale: { across: 149.7 mm, along: 150.2 mm, measured with: calipers }
  face heights: { all: 1.5 mm, T2: 2.0 mm }
  trains: movement.yaml
  paper: a4
  units: mm and inches
`;

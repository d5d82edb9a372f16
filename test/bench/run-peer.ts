import { execFile } from "node:child_process";
import { join, relative, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs, promisify } from "node:util";
import { z } from "zod";
import { writeBetweenMarks } from "../accuracy/insert-between-marks.js";
import type { KnownPhoto } from "../accuracy/known-photo.js";
import { measureKnownPhoto } from "../accuracy/measure-known-photo.js";
import type { PhotoOutcome } from "../accuracy/measure-known-photo.js";
import { photosWithTruthIn, sampleTruthFolders } from "../accuracy/sample-photos.js";
import { timed } from "./measure-speed.js";
import { peerTable, tallyOfOurs, tallyOfPeer } from "./peer-table.js";
import type { CountTally } from "./peer-table.js";

const usage = `Count the same photographs with this program and with a plain OpenCV script, in one run.

  npx tsx test/bench/run-peer.ts [OPTIONS]

--photos DIR     photographs with truth documents (default: those of samples/)
--every N        every Nth of them (default 1)
--python PROGRAM a Python that has OpenCV (default: python3, or else Debian's own)
--write          put the table into DEVELOPERS.md
`;

const install = "OpenCV for Python is not there: apt-get install python3-opencv python3-numpy (Debian)\n";

const projectFolder = fileURLToPath(new URL("../..", import.meta.url));
const script = join(projectFolder, "test", "bench", "peer", "count_teeth.py");
const run = promisify(execFile);

async function main(): Promise<void> {
  const { values } = parseArgs({
    options: {
      photos: { type: "string" },
      every: { type: "string", default: "1" },
      python: { type: "string" },
      write: { type: "boolean", default: false },
    },
  });
  const every = Number(values.every);
  if (!Number.isInteger(every) || every < 1) {
    process.stderr.write(usage);
    process.exitCode = 2;
    return;
  }
  // Debian's OpenCV belongs to Debian's Python, before which another may stand on the PATH.
  const python = await firstWithOpenCv(
    values.python === undefined ? ["python3", "/usr/bin/python3"] : [values.python],
  );
  if (python === undefined) {
    process.stdout.write(install);
    return;
  }
  const folders =
    values.photos === undefined
      ? await sampleTruthFolders(join(projectFolder, "samples"))
      : [resolve(values.photos)];
  const all: KnownPhoto[] = [];
  for (const folder of folders) all.push(...(await photosWithTruthIn(folder)));
  const photos = all.filter((_, i) => i % every === 0);
  if (photos.length === 0) throw new Error("no photograph with a truth document: name another folder");
  const peer = await peerTallies(python, photos);
  const ours = await ourTallies(photos);
  const text = `${photos.length} photographs ${values.photos === undefined ? "of samples/" : "with truth"}, each program warm and in one process of its own.

${peerTable([
  ["this program", ours],
  ["plain OpenCV script", peer],
])}
`;
  process.stdout.write(text);
  if (values.write) await writeBetweenMarks(join(projectFolder, "DEVELOPERS.md"), "peer", text);
}

async function firstWithOpenCv(pythons: readonly string[]): Promise<string | undefined> {
  for (const python of pythons)
    if (
      await run(python, ["-c", "import cv2, numpy"]).then(
        () => true,
        () => false,
      )
    )
      return python;
  return undefined;
}

const peerLine = z.object({
  file: z.string(),
  parts: z.array(
    z.object({ centre: z.tuple([z.number(), z.number()]), radius: z.number(), count: z.number() }),
  ),
  seconds: z.number(),
  processor_seconds: z.number(),
});

async function peerTallies(python: string, photos: readonly KnownPhoto[]): Promise<CountTally[]> {
  process.stderr.write("plain OpenCV script\n");
  const paths = photos.map(({ path }) => resolve(path));
  // The first one twice: once to get warm.
  const { stdout } = await run(python, [script, paths[0]!, ...paths], { maxBuffer: 2 ** 26 });
  const lines = stdout
    .trim()
    .split("\n")
    .slice(1)
    .map((line) => peerLine.parse(JSON.parse(line)));
  return photos.map((photo, i): CountTally => {
    const line = lines[i];
    if (line === undefined || line.file !== paths[i])
      throw new Error(`${script}: expected a line for ${photo.path}, received ${line?.file ?? "none"}`);
    const tally = tallyOfPeer(photo, line.parts, {
      wallMs: line.seconds * 1000,
      processorMs: line.processor_seconds * 1000,
    });
    tell("script", photo, tally);
    return tally;
  });
}

async function ourTallies(photos: readonly KnownPhoto[]): Promise<CountTally[]> {
  process.stderr.write("this program\n");
  const tallies: CountTally[] = [];
  await measureKnownPhoto(photos[0]!);
  for (const photo of photos) {
    let outcome: PhotoOutcome | undefined;
    const took = await timed(async () => (outcome = await measureKnownPhoto(photo)));
    const tally = tallyOfOurs(outcome!, took);
    tell("this program", photo, tally);
    tallies.push(tally);
  }
  return tallies;
}

function tell(who: string, photo: KnownPhoto, { wheels, right, wrong, ofNoWheel, wallMs }: CountTally): void {
  const name = relative(projectFolder, photo.path);
  process.stderr.write(
    `${who}: ${name}, ${(wallMs / 1000).toFixed(2)} s; ${right} of ${wheels} right, ${wrong} wrong, ${ofNoWheel} of no wheel\n`,
  );
}

await main();

import { resolve } from "node:path";
import type { Paper, RememberedMat } from "../mat/index.js";
import {
  checkBarReadings,
  describeSheet,
  forgetMat,
  listRememberedMats,
  paperName,
  papers,
  rememberMat,
  writeMatPdf,
  writeSetsPdf,
  writeTagsPdf,
} from "../mat/index.js";
import { UsageError } from "../problem/index.js";
import type { CommandIo } from "./command-io.js";

export interface MatOptions {
  readonly paper?: Paper;
  readonly tags?: boolean;
  readonly sets?: boolean;
  readonly all?: boolean;
  readonly out?: string;
  readonly force?: boolean;
  readonly remember?: string;
  readonly matAcross?: number;
  readonly matAlong?: number;
  readonly list?: boolean;
  readonly forget?: string;
}

/** Where files go; tests hand in their own folders. */
export interface MatPlaces {
  /** Default: the current folder. */
  readonly folder?: string;
  /** Default: the user's settings folder. */
  readonly configFolder?: string;
}

export async function runMat(options: MatOptions, io: CommandIo, places: MatPlaces = {}): Promise<void> {
  const asked = (["remember", "list", "forget"] as const).filter((task) => options[task] !== undefined);
  const writing = (["tags", "sets", "all", "out", "force"] as const).filter(
    (task) => options[task] !== undefined,
  );
  if (asked.length > 1 || (asked.length === 1 && writing.length > 0)) {
    const given = [...asked, ...writing].map((task) => `--${task}`).join(", ");
    throw new UsageError(`mat: expected one task, received ${given}; call it once for each`);
  }
  const config = places.configFolder === undefined ? {} : { folder: places.configFolder };
  if (options.remember === undefined && (options.matAcross ?? options.matAlong) !== undefined) {
    throw new UsageError("mat: --mat-across and --mat-along belong with --remember NAME (or with measure)");
  }
  if (options.remember !== undefined) {
    await remember(options.remember, options, io, config);
  } else if (options.forget !== undefined) {
    await forgetMat(options.forget, config);
    io.stderr.write(`Forgotten: ${options.forget.trim()}\n`);
  } else if (options.list) {
    const mats = await listRememberedMats(config);
    if (mats.length === 0) io.stderr.write("No mat is remembered yet.\n");
    for (const mat of mats) io.stdout.write(`${describeMat(mat)}\n`);
  } else {
    await writeSheets(options, io, places.folder ?? process.cwd());
  }
}

async function writeSheets(options: MatOptions, io: CommandIo, folder: string): Promise<void> {
  if (
    options.all &&
    (options.out !== undefined || options.paper !== undefined || options.tags || options.sets)
  ) {
    throw new UsageError(
      "mat: --all writes every sheet under its own name; leave out --out, --paper, --tags and --sets",
    );
  }
  if (options.tags && options.sets)
    throw new UsageError("mat: expected --tags or --sets, received both; call it once for each");
  if (options.out === "") throw new UsageError("mat: --out expects a file name, received nothing");
  const paper = options.paper ?? "a4";
  const asked: SheetKind = options.tags ? "tags" : options.sets ? "sets" : "mat";
  const sheets: readonly (readonly [SheetKind, Paper])[] = options.all
    ? papers.flatMap((each) => sheetKinds.map((kind) => [kind, each] as const))
    : [[asked, paper]];
  for (const [kind, size] of sheets) {
    const file = resolve(folder, options.out ?? `wheelsurvey-${kind}-${size}.pdf`);
    await writers[kind](size, file, { force: options.force ?? false });
    io.stdout.write(`${file}\n`);
  }
  const next = { mat: afterMat(options.all ? undefined : paper), tags: afterTags, sets: afterSets };
  io.stderr.write(`${next[options.all ? "mat" : asked]}\n`);
}

const sheetKinds = ["mat", "tags", "sets"] as const;
type SheetKind = (typeof sheetKinds)[number];
const writers = { mat: writeMatPdf, tags: writeTagsPdf, sets: writeSetsPdf } as const;

const afterSets =
  "Next: print it and follow its steps; let the mainspring down first. The cards TURN and PLAY are on the page of tags: " +
  "wheelsurvey mat --tags.";

const afterTags =
  "Next: print at 100 % (actual size), do not fit to page. Cut the cards along the light lines and lay each beside " +
  "its part.";

function afterMat(paper: Paper | undefined): string {
  const bars = paper ? describeSheet(paper).bars : [];
  const nominal = bars.length > 0 ? ` (${bars[0]!.lengthMm.toFixed(1)} mm nominal)` : "";
  const size = paper ?? "SIZE";
  return [
    "Next: print at 100 % (actual size), do not fit to page.",
    `Measure both check bars${nominal} from the middle of one tick to the middle of the other, with calipers or a`,
    "steel rule, and give both readings with your photographs:",
    "  wheelsurvey measure PHOTO --mat-across MM --mat-along MM",
    "or keep them under a name and give that:",
    `  wheelsurvey mat --remember NAME --paper ${size} --mat-across MM --mat-along MM`,
    "  wheelsurvey measure PHOTO --mat NAME",
  ].join("\n");
}

async function remember(
  name: string,
  { paper, matAcross, matAlong }: MatOptions,
  io: CommandIo,
  config: { folder?: string },
): Promise<void> {
  if (paper === undefined || matAcross === undefined || matAlong === undefined) {
    const missing = [
      ...(paper === undefined ? ["--paper"] : []),
      ...(matAcross === undefined ? ["--mat-across"] : []),
      ...(matAlong === undefined ? ["--mat-along"] : []),
    ];
    throw new UsageError(
      `mat --remember: ${missing.join(", ")} missing; expected --remember NAME --paper SIZE --mat-across MM --mat-along MM`,
    );
  }
  const readings = { acrossMm: matAcross, alongMm: matAlong };
  const mat = await rememberMat({ name, paper, ...readings }, config);
  for (const remark of checkBarReadings(paper, readings)) io.stderr.write(`${remark}\n`);
  io.stdout.write(`${describeMat(mat)}\n`);
  io.stderr.write(
    `Next: wheelsurvey measure PHOTO --mat ${/ /.test(mat.name) ? `"${mat.name}"` : mat.name}\n`,
  );
}

const describeMat = ({ name, paper, acrossMm, alongMm }: RememberedMat): string =>
  `${name}: ${paperName[paper]}, across ${acrossMm} mm, along ${alongMm} mm`;

import { createHash } from "node:crypto";
import { measureSetsApart } from "../../pipeline/index.js";
import { software, type SetRecord } from "../../record/index.js";
import { belongsToSet, recogniseSets, type SetPhoto } from "../../survey/index.js";
import type { SetState } from "../wire.js";

/** A photograph that may belong to a set. */
export interface SetMember {
  readonly name: string;
  /** Content and settings: by it is known what it gave for its set. */
  readonly lookKey: string;
  /** Cards and tags in the picture. */
  readonly cards: readonly string[];
}

interface Found extends Omit<SetState, "state" | "results"> {
  readonly members: readonly SetMember[];
}

export interface SetBenchOptions {
  /** Asks for photographs to be looked at; `take` brings what they give. */
  readonly look: (names: readonly string[]) => void;
  /** A set has another result now. */
  readonly onChange: () => void;
}

/** The sets of a survey: which photographs belong together, and what they say when evaluated together. */
export class SetBench {
  private sets: readonly Found[] = [];
  /** What photographs gave, by their look keys; undefined: nothing. */
  private readonly marks = new Map<string, SetPhoto | undefined>();
  private readonly results = new Map<string, readonly SetRecord[]>();
  private readonly evaluating = new Set<string>();
  private readonly stopped = new Set<string>();
  private closed = false;

  constructor(private readonly options: SetBenchOptions) {}

  /** Takes note of the photographs as they are now, and evaluates what is new. */
  update(photos: readonly SetMember[]): void {
    const before = JSON.stringify(this.sets);
    this.sets = findSets(photos);
    this.proceed();
    if (before !== JSON.stringify(this.sets)) this.options.onChange();
  }

  /** What a photograph gave for its set. */
  take(name: string, lookKey: string, marks: SetPhoto | undefined): void {
    // The record that comes after them does not take marks away again.
    if (marks === undefined && this.marks.has(lookKey)) return;
    this.marks.set(lookKey, marks);
    this.stopped.delete(name);
    this.proceed();
  }

  /** Looking at a photograph was stopped: its sets wait until `again`. */
  stop(name: string): void {
    this.stopped.add(name);
    this.options.onChange();
  }

  again(): void {
    this.stopped.clear();
    this.proceed();
    this.options.onChange();
  }

  close(): void {
    this.closed = true;
  }

  states(): readonly (Omit<SetState, "results"> & { readonly records: readonly SetRecord[] })[] {
    return this.sets.map(({ members, ...set }) => {
      const records = this.results.get(set.key);
      const state = records
        ? "done"
        : members.some(({ name }) => this.stopped.has(name))
          ? "stopped"
          : "looking";
      return { ...set, state, records: records ?? [] };
    });
  }

  private proceed(): void {
    for (const set of this.sets) {
      if (this.closed || this.results.has(set.key) || this.evaluating.has(set.key)) continue;
      const unseen = set.members.filter(({ lookKey }) => !this.marks.has(lookKey));
      if (unseen.length === 0) void this.evaluate(set);
      else this.options.look(unseen.map(({ name }) => name).filter((name) => !this.stopped.has(name)));
    }
  }

  private async evaluate(set: Found): Promise<void> {
    this.evaluating.add(set.key);
    const photos = set.members.map(({ name, lookKey, cards }): SetPhoto => {
      const nothing = { wheels: [], cards, onMat: false };
      return { ...(this.marks.get(lookKey) ?? nothing), file: `photos/${name}` };
    });
    const records = await measureSetsApart(photos).catch((error: unknown): SetRecord[] => [
      failedSet(set, error),
    ]);
    this.evaluating.delete(set.key);
    if (this.closed) return;
    this.results.set(set.key, records);
    this.options.onChange();
  }
}

/** As `report` finds them: by cards, tags and folders. */
function findSets(photos: readonly SetMember[]): Found[] {
  const byFile = new Map(photos.map((photo) => [`photos/${photo.name}`, photo]));
  const bare = photos
    .filter(({ name, cards }) => belongsToSet(`photos/${name}`, cards))
    .map(({ name, cards }): SetPhoto => ({ file: `photos/${name}`, wheels: [], cards, onMat: true }));
  return recogniseSets(bare).map(({ kind, label, photos: of }) => {
    const members = of.map(({ file }) => byFile.get(file)!);
    const said = [kind, label ?? null, members.map(({ name, lookKey }) => [name, lookKey]), software()];
    const key = createHash("sha256").update(JSON.stringify(said)).digest("hex").slice(0, 16);
    return {
      key,
      kind,
      ...(label === undefined ? {} : { label }),
      photos: members.map(({ name }) => name),
      // Without its cards it would belong to no set but that of its folder.
      byCard: members.filter(({ cards }) => belongsToSet("photos/any.jpg", cards)).map(({ name }) => name),
      members,
    };
  });
}

const failedSet = ({ kind, label, photos }: Found, error: unknown): SetRecord => ({
  kind,
  ...(label === undefined ? {} : { label }),
  photos: photos.map((name) => `photos/${name}`),
  ...(kind === "height" ? {} : { verdict: "cannot tell" as const }),
  problems: [
    {
      code: "unexpected",
      text: `this program failed: ${error instanceof Error ? error.message : String(error)}`,
      advice: "please report it",
    },
  ],
});

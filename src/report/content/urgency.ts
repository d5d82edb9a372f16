import type { FindingRecord, SetRecord, SurveyDocument } from "../../record/index.js";
import { shownText } from "../shown-text.js";
import type { FindingItem, Inline } from "./content.js";
import { groupName, stageOf, type PartGroup, type Sighting } from "./group-parts.js";
import { sureProbability } from "../part-words.js";

const rank = { fault: 0, watch: 1, note: 2 } as const;

/** Findings come as halves of sentences: "2 teeth are missing, at 247°". */
const capital = (text: string): string => {
  const shown = shownText(text, { max: 600 }).trim();
  return shown.charAt(0).toUpperCase() + shown.slice(1) + (/[.!?…]$/.test(shown) ? "" : ".");
};

/** A finding of a part, and in which of its photographs it shows. */
export interface PartFinding extends FindingRecord {
  /** Said where not every photograph shows it: "Seen in photograph 10, not in 2." */
  readonly where?: string;
}

/**
 * Findings of a part over its photographs, each kind once, the gravest first. Photographs that cannot be trusted beside
 * better ones (their count is not sure) and those from before the work say nothing. What only some photographs show is
 * said to be so, and is no fault if one as good does not show it.
 */
export function findingsOf(group: PartGroup): PartFinding[] {
  const all = [group.best, ...group.others];
  const worked = all.some((s) => stageOf(s) === "after");
  const present = all.filter((s) => !worked || stageOf(s) !== "before");
  const sure = present.filter(({ part }) => (part.teeth?.probability ?? 0) >= sureProbability);
  const heard = sure.length > 0 ? sure : present;
  const gravest = new Map<string, FindingRecord>();
  for (const { part } of heard) {
    for (const finding of part.findings) {
      const known = gravest.get(finding.code);
      if (!known || rank[finding.severity] < rank[known.severity]) gravest.set(finding.code, finding);
    }
  }
  return [...gravest.values()]
    .flatMap((finding): PartFinding[] => {
      const shows = ({ part }: Sighting): boolean => part.findings.some(({ code }) => code === finding.code);
      const seenIn = heard.filter(shows);
      const notIn = heard.filter((s) => !shows(s) && couldShow(finding.code, s));
      if (seenIn.length === heard.length) return [finding];
      // A bore that is hidden here is seen there: then nothing is left to say.
      if (finding.severity === "note" || (aboutThePhotograph.has(finding.code) && notIn.length > 0))
        return [];
      const doubted = finding.severity === "fault" && notIn.length > 0;
      return [
        {
          ...finding,
          severity: doubted ? "watch" : finding.severity,
          where:
            `Seen in ${photographs(seenIn)}` +
            (notIn.length > 0 ? `, not in ${numbers(notIn)}${doubted ? ": look at it by eye" : ""}` : "") +
            ".",
        },
      ];
    })
    .sort((a, b) => rank[a.severity] - rank[b.severity]);
}

/** What a photograph could not show, rather than what is wrong with the part. */
const aboutThePhotograph: ReadonlySet<string> = new Set([
  "bore-hidden",
  "count-not-sure",
  "pins-not-sure",
  "pins-unseen",
  "teeth-unseen",
]);

const numbers = (sightings: readonly Sighting[]): string =>
  [...new Set(sightings.map(({ photoIndex }) => photoIndex + 1))].sort((a, b) => a - b).join(", ");

const photographs = (sightings: readonly Sighting[]): string =>
  `photograph${new Set(sightings.map(({ photoIndex }) => photoIndex)).size > 1 ? "s" : ""} ${numbers(sightings)}`;

/** Whether a photograph would have shown it. */
function couldShow(code: string, { part }: Sighting): boolean {
  switch (code) {
    case "eccentric":
    case "estimates-disagree":
      return part.eccentricity_mm !== undefined;
    case "oval":
      return part.ovality_mm !== undefined;
    default:
      return true;
  }
}

export const findingItem = (finding: {
  severity: FindingRecord["severity"];
  text: string;
  where?: string;
}): FindingItem => ({
  severity: finding.severity,
  words: [{ said: capital(finding.text) }, ...(finding.where === undefined ? [] : [` ${finding.where}`])],
});

const setFindings = (set: SetRecord): FindingRecord[] => [
  ...(set.findings ?? []),
  ...(set.verdict === "loose"
    ? [{ code: "loose", severity: "fault" as const, text: "The wheel moves on its arbor." }]
    : []),
];

/** One line for each finding of a part; a note that several parts share is said once. */
function partItems(groups: readonly PartGroup[]): FindingItem[] {
  const found = groups.flatMap((group) => findingsOf(group).map((finding) => ({ group, finding })));
  const kinds = new Map<string, PartGroup[]>();
  const keyOf = ({ finding, group }: (typeof found)[number]): string =>
    finding.severity === "note" ? finding.text : `${group.id} ${finding.code}`;
  for (const one of found) kinds.set(keyOf(one), [...(kinds.get(keyOf(one)) ?? []), one.group]);
  return found.flatMap((one): FindingItem[] => {
    const sharing = kinds.get(keyOf(one))!;
    if (sharing[0] !== one.group) return [];
    const { words, severity } = findingItem(one.finding);
    const names = sharing.map(groupName).join(", ");
    return [
      {
        severity,
        words: [{ bold: `${names}: ` }, ...(words as readonly Inline[])],
        evidence:
          sharing.length > 1
            ? { to: "parts", text: "parts" }
            : { to: one.group.id, text: `part ${groupName(one.group)}` },
      },
    ];
  });
}

/** Everything that was found, gravest first, with a way to its evidence. */
export function allFindings(survey: SurveyDocument, groups: readonly PartGroup[]): FindingItem[] {
  const items = partItems(groups);
  survey.measurement.sets.forEach((set, i) => {
    for (const finding of setFindings(set)) {
      const name = set.label === undefined ? `Set ${i + 1}` : shownText(set.label, { max: 40 });
      items.push({
        severity: finding.severity,
        words: [{ bold: `${name}: ` }, { said: capital(finding.text) }],
        evidence: { to: "sets", text: "sets of photographs" },
      });
    }
  });
  for (const finding of survey.trains?.findings ?? []) {
    items.push({
      severity: finding.severity,
      words: [{ bold: "Train: " }, { said: capital(finding.text) }],
      evidence: { to: "trains", text: "trains" },
    });
  }
  return items.sort((a, b) => rank[a.severity] - rank[b.severity]);
}

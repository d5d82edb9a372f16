import type { FindingRecord, SetRecord, SurveyDocument } from "../../record/index.js";
import { shownText } from "../shown-text.js";
import type { FindingItem, Inline } from "./content.js";
import { groupName, type PartGroup } from "./group-parts.js";

const rank = { fault: 0, watch: 1, note: 2 } as const;

/** Findings come as halves of sentences: "2 teeth are missing, at 247°". */
const capital = (text: string): string => {
  const shown = shownText(text, { max: 600 }).trim();
  return shown.charAt(0).toUpperCase() + shown.slice(1) + (/[.!?…)]$/.test(shown) ? "" : ".");
};

/** Findings of a part over all its photographs, each kind once, the gravest first. */
export function findingsOf(group: PartGroup): FindingRecord[] {
  const kept = new Map<string, FindingRecord>();
  for (const { part } of [group.best, ...group.others]) {
    for (const finding of part.findings) {
      const known = kept.get(finding.code);
      if (!known || rank[finding.severity] < rank[known.severity]) kept.set(finding.code, finding);
    }
  }
  return [...kept.values()].sort((a, b) => rank[a.severity] - rank[b.severity]);
}

export const findingItem = (finding: { severity: FindingRecord["severity"]; text: string }): FindingItem => ({
  severity: finding.severity,
  words: [{ said: capital(finding.text) }],
});

const setFindings = (set: SetRecord): FindingRecord[] => [
  ...(set.findings ?? []),
  ...(set.verdict === "loose"
    ? [{ code: "loose", severity: "fault" as const, text: "The wheel moves on its arbor." }]
    : []),
];

/** Everything that was found, gravest first, with a way to its evidence. */
export function allFindings(survey: SurveyDocument, groups: readonly PartGroup[]): FindingItem[] {
  const items: FindingItem[] = groups.flatMap((group) =>
    findingsOf(group).map((finding) => {
      const { words, severity } = findingItem(finding);
      return {
        severity,
        words: [{ bold: `${groupName(group)}: ` }, ...(words as readonly Inline[])],
        evidence: { to: group.id, text: `part ${groupName(group)}` },
      };
    }),
  );
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

import {
  correctionOf,
  correctPhoto,
  strayCorrections,
  type CorrectionsRecord,
  type PhotoRecord,
  type SetRecord,
} from "../../record/index.js";
import type { MovementState, TodoItem, TodoState } from "../wire.js";

const rank = { fault: 0, watch: 1, note: 2 } as const;
const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** What is left to do, gravest first: findings, problems, doubts. Each has a key that stays the same. */
export function todoState(
  names: readonly string[],
  records: readonly (PhotoRecord | undefined)[],
  corrections: CorrectionsRecord,
  movement: MovementState,
  sets: readonly SetRecord[],
): TodoState {
  const done = new Set(corrections.done);
  const items = new Map<string, TodoItem>();
  const add = (item: Omit<TodoItem, "done">): void => {
    // The same finding from several photographs of a part is one thing to do.
    if (!items.has(item.key)) items.set(item.key, { ...item, done: done.has(item.key) });
  };
  records.forEach((record, i) => {
    const photo = names[i]!;
    if (!record) return;
    const correction = correctionOf(corrections, record.sha256);
    const shown = correctPhoto(record, correction);
    for (const { code, text, advice } of correction?.left_out ? [] : shown.problems)
      add({
        key: `photo ${photo} ${code}`,
        severity: "watch",
        text: capital(text),
        advice,
        photo,
        about: "photograph",
      });
    for (const part of shown.parts) {
      const name = part.label ?? `${part.id} in ${photo}`;
      const about = { photo, part: part.id, about: "part" as const };
      for (const { code, severity, text } of part.findings)
        add({ key: `${name} ${code}`, severity, text: `${name}: ${text}`, ...about });
      for (const { code, text, advice } of part.problems ?? [])
        add({
          key: `${name} problem ${code}`,
          severity: "watch",
          text: `${name}: ${text}`,
          advice,
          ...about,
        });
    }
    if (correction)
      for (const { part } of strayCorrections(record, correction))
        add({
          key: `stray ${photo} ${part}`,
          severity: "watch",
          text: `${photo}: a change by hand fits no part of this measurement any more (${part})`,
          advice: "look at the photograph and make the change again",
          photo,
          about: "correction",
        });
  });
  for (const { file, sha256 } of corrections.photos)
    if (!records.some((record) => record?.sha256 === sha256) && names.includes(file))
      add({
        key: `swapped ${file}`,
        severity: "watch",
        text: `${file}: this is another picture than the one that was changed by hand`,
        advice: "look at the photograph and make the changes again",
        photo: file,
        about: "correction",
      });
  for (const { code, severity, text, advice, position } of movement.result?.findings ?? [])
    add({
      key: `movement ${code} ${position ?? text.slice(0, 80)}`,
      severity,
      text: `Movement: ${text}`,
      ...(advice === undefined ? {} : { advice }),
      about: "movement",
    });
  if (movement.verdict !== undefined)
    add({
      key: `movement verdict`,
      severity: "fault",
      text: `Movement: ${movement.verdict}`,
      about: "movement",
    });
  for (const { position, words } of movement.result?.missing ?? [])
    add({
      key: `movement missing ${position}`,
      severity: "watch",
      text: `Movement: ${words} has no count yet`,
      advice: "photograph it, write its count, or look at what the train allows",
      about: "movement",
    });
  sets.forEach((set, i) => {
    const name = set.label ?? `set ${i + 1}`;
    for (const { code, severity, text } of set.findings ?? [])
      add({ key: `set ${name} ${code}`, severity, text: `${name}: ${text}`, about: "set" });
    for (const { code, text, advice } of set.problems ?? [])
      add({
        key: `set ${name} problem ${code}`,
        severity: "watch",
        text: `${name}: ${text}`,
        advice,
        about: "set",
      });
  });
  const all = [...items.values()].sort(
    (a, b) => Number(a.done) - Number(b.done) || rank[a.severity] - rank[b.severity],
  );
  return { items: all };
}

import type { JSX } from "preact";
import type { MovementState } from "../../wire.js";

type Finding = NonNullable<MovementState["result"]>["findings"][number];

/** What the counts say, with what to do about it; nothing where there is nothing to say. */
export function FindingList({ findings }: { findings: readonly Finding[] }): JSX.Element | null {
  if (findings.length === 0) return null;
  return (
    <ul class="findings">
      {findings.map(({ code, severity, text, advice, position }) => (
        <li key={`${code} ${position} ${text}`} class={severity}>
          <strong>{severity}:</strong> {text}
          {advice === undefined ? "" : `; ${advice}`}
        </li>
      ))}
    </ul>
  );
}

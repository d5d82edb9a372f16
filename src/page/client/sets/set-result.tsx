import type { JSX } from "preact";
import type { SetRecord } from "../../../record/index.js";
import type { SetState } from "../../wire.js";
import { surveyPath } from "../ask.js";
import { quantityWords, severityWords } from "../words.js";

type Result = SetState["results"][number];

const rows = [
  ["eccentricity_mm", "Eccentricity about the arbor", "mm"],
  ["eccentricity_angle_deg", "Its direction in the first photograph", "°"],
  ["radial_runout_mm", "Run-out of a pure offset", "mm"],
  ["axial_runout_mm", "Axial run-out (rise and fall of the rim)", "mm"],
  ["radial_play_mm", "Radial play", "mm"],
  ["twist_deg", "Twist", "°"],
  ["rock_deg", "Rock", "°"],
  ["face_height_mm", "Height of the face", "mm"],
  ["tip_diameter_mm", "Tip diameter at that height", "mm"],
] as const;

const verdictWords: Readonly<Record<NonNullable<SetRecord["verdict"]>, string>> = {
  tight: "Tight on its arbor",
  loose: "Loose on its arbor",
  "cannot tell": "Cannot tell",
};

const usedWords = (names: readonly string[]): string =>
  names.length === 0
    ? "No photograph is measured at this height: one that was typed goes first, and one as good as what was assumed changes nothing."
    : `Sizes in ${names.length === 1 ? "one photograph" : `${names.length} photographs`} are measured at this height: ${names.join(", ")}.`;

/** What photographs of one wheel say together: verdict, numbers with their limits, plots. */
export function SetResult(props: { readonly survey: string; readonly result: Result }): JSX.Element {
  const { survey, result } = props;
  const { record, figures } = result;
  const limits: Readonly<Record<string, number | undefined>> = record.detection_limits ?? {};
  const numbers = rows.flatMap(([key, words, unit]) => {
    const q = record[key];
    return q === undefined ? [] : [{ key, words, unit, q, limit: limits[key] }];
  });
  return (
    <div class="set-result">
      {record.verdict !== undefined && (
        <p class={`verdict ${record.verdict.replace(" ", "-")}`}>{verdictWords[record.verdict]}</p>
      )}
      {numbers.length > 0 && (
        <table class="quantities">
          <caption>± with k = 2</caption>
          <tbody>
            {numbers.map(({ key, words, unit, q, limit }) => (
              <tr key={key}>
                <th scope="row">
                  {words}
                  {limit !== undefined && (
                    <small class="quiet">
                      {" "}
                      seen from {limit.toFixed(2)} {unit} on
                    </small>
                  )}
                </th>
                <td>
                  {quantityWords(q)} {unit}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {(record.findings ?? []).length > 0 && (
        <ul class="findings">
          {record.findings!.map(({ code, severity, text }) => (
            <li key={code} class={severity}>
              <strong>{severityWords[severity]}:</strong> {text}
            </li>
          ))}
        </ul>
      )}
      {(record.problems ?? []).map(({ code, text, advice }) => (
        <p key={`${code} ${text}`} class="message watch">
          {text}. <strong>{advice}.</strong>
        </p>
      ))}
      {result.usedIn !== undefined && <p class="quiet">{usedWords(result.usedIn)}</p>}
      {figures.length > 0 && (
        <div class="set-plots">
          {figures.map(({ path, alt, caption }) => (
            <figure key={path}>
              <img src={`${surveyPath(survey, "sets")}/${path}`} alt={alt} loading="lazy" />
              <figcaption>{caption}</figcaption>
            </figure>
          ))}
        </div>
      )}
    </div>
  );
}

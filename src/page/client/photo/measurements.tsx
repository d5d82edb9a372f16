import type { JSX } from "preact";
import type { PartRecord } from "../../../record/index.js";
import { quantityWords } from "../words.js";

const quantities = [
  ["tip_diameter_mm", "Tip diameter", "mm"],
  ["root_diameter_mm", "Root diameter", "mm"],
  ["module_mm", "Module", "mm"],
  ["pitch_diameter_mm", "Pitch diameter", "mm"],
  ["bore_diameter_mm", "Bore", "mm"],
  ["eccentricity_mm", "Eccentricity", "mm"],
  ["radial_runout_mm", "Radial run-out", "mm"],
  ["ovality_mm", "Oval by", "mm"],
  ["face_height_mm", "Face above the mat", "mm"],
  ["tilt_deg", "Tilt", "°"],
] as const;

type Row = readonly [name: string, words: string];

/** All that was measured of one part, in tables. */
export function Measurements({ part }: { part: PartRecord }): JSX.Element {
  const rows = [...plateRows(part), ...quantityRows(part), ...fittingRows(part)];
  return (
    <>
      {rows.length === 0 ? (
        <p class="quiet">No lengths: there is no scale, or they hung on what was changed.</p>
      ) : (
        <table class="quantities">
          <caption>Measured, ± with k = 2</caption>
          <tbody>
            {rows.map(([name, words]) => (
              <tr key={name}>
                <th scope="row">{name}</th>
                <td class="words">{words}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <Holes part={part} />
    </>
  );
}

const quantityRows = (part: PartRecord): Row[] =>
  quantities.flatMap(([key, name, unit]) => {
    const q = part[key];
    return q === undefined ? [] : [[name, `${quantityWords(q)} ${unit}`] as const];
  });

function plateRows({ plate }: PartRecord): Row[] {
  if (!plate) return [];
  const { length_mm: length, width_mm: width } = plate;
  return [
    ...(length ? [["Length", `${quantityWords(length)} mm`] as const] : []),
    ...(width ? [["Width", `${quantityWords(width)} mm`] as const] : []),
  ];
}

function fittingRows({ crossings, pins, notches, rake }: PartRecord): Row[] {
  const rows: Row[] = [];
  if (crossings) rows.push(["Crossings", String(crossings.count)]);
  if (pins) {
    rows.push(["Pins", String(pins.count)]);
    if (pins.circle_diameter_mm) rows.push(["Pin circle", `${quantityWords(pins.circle_diameter_mm)} mm`]);
    if (pins.pin_diameter_mm) rows.push(["Pin diameter", `${quantityWords(pins.pin_diameter_mm)} mm`]);
  }
  if (notches && notches.blows.length > 0) rows.push(["Blows from notch to notch", notches.blows.join(", ")]);
  if (rake) rows.push(["Teeth point", rake]);
  return rows;
}

/** Holes of a plate, one a row. */
function Holes({ part }: { part: PartRecord }): JSX.Element | null {
  const { holes = [] } = part;
  if (holes.length === 0) return null;
  return (
    <div class="wide-table" role="group" aria-label="Holes" tabIndex={0}>
      <table class="quantities">
        <caption>Holes; what each is for is a guess</caption>
        <thead>
          <tr>
            <th scope="col">Hole</th>
            <th scope="col">For</th>
            <th scope="col">Diameter, mm</th>
            <th scope="col">Oval by, mm</th>
          </tr>
        </thead>
        <tbody>
          {holes.map(
            (
              { id = "", kind = "", bushed, bush_diameter_mm: bush, diameter_mm: diameter, ovality_mm: oval },
              i,
            ) => (
              <tr key={i}>
                <th scope="row">{id}</th>
                <td>
                  {bush ? `${kind}, bush of ${quantityWords(bush)} mm` : bushed ? `${kind}, bushed` : kind}
                </td>
                <td>{diameter ? quantityWords(diameter) : "cannot tell"}</td>
                <td>{oval ? quantityWords(oval) : "cannot tell"}</td>
              </tr>
            ),
          )}
        </tbody>
      </table>
    </div>
  );
}

import type { JSX } from "preact";
import type { ToothPlace } from "./part-shape.js";
import { linesPath } from "./path.js";
import type { Px } from "./stage.js";

/** A tick outside every tooth. One path for all that look alike: a tray of wheels has some hundred teeth. */
export function ToothTicks(props: {
  readonly places: readonly ToothPlace[];
  readonly centre: Px;
  /** Pixels of the photograph for one of the screen. */
  readonly px: number;
  readonly chosen: number | undefined;
}): JSX.Element {
  const { places, centre, px, chosen } = props;
  let [whole, odd, here] = ["", "", ""];
  for (const place of places) {
    const d = tick(place.tip_px, centre, px);
    if (place.number === chosen) here += d;
    else if (isOdd(place)) odd += d;
    else whole += d;
  }
  return (
    <g>
      <path class="halo" d={whole + odd + here} />
      <path class="tick" d={whole} />
      <path class="tick odd" d={odd + here} />
    </g>
  );
}

const isOdd = ({ state }: ToothPlace): boolean =>
  state === "missing" || state === "short" || state === "bent";

const [from, to] = [3, 11];

function tick([x, y]: Px, [cx, cy]: Px, px: number): string {
  const r = Math.hypot(x - cx, y - cy) || 1;
  const [dx, dy] = [((x - cx) / r) * px, ((y - cy) / r) * px];
  return linesPath([
    [x + from * dx, y + from * dy],
    [x + to * dx, y + to * dy],
  ]);
}

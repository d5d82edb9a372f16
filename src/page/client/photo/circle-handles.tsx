import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { PartCorrection, PartRecord } from "../../../record/index.js";
import { partRadiusPx } from "./part-shape.js";
import type { Px, StageView } from "./stage.js";

export type CircleByHand = NonNullable<PartCorrection["circle"]>;

/** Two handles: one moves the circle by its centre, one sets its size. Arrow keys move them by a screen pixel. */
export function CircleHandles(props: {
  readonly part: PartRecord;
  readonly view: StageView;
  readonly onSet: (circle: CircleByHand) => void;
}): JSX.Element {
  const { part, view, onSet } = props;
  const [draft, setDraft] = useState<{ centre: Px; radius: number }>();
  const centre = draft?.centre ?? part.centre_px;
  const radius = draft?.radius ?? partRadiusPx(part) ?? 60 / view.zoom;
  const px = 1 / view.zoom;
  const finish = (now: { centre: Px; radius: number }): void => {
    setDraft(undefined);
    // As good as two screen pixels at this zoom.
    onSet({ centre_px: now.centre, tip_radius_px: now.radius, within_px: 2 * px });
  };
  const drag = (which: "centre" | "rim") => (event: PointerEvent) => {
    event.stopPropagation();
    const handle = event.currentTarget as SVGElement;
    handle.setPointerCapture(event.pointerId);
    let now = { centre, radius };
    const move = (e: PointerEvent): void => {
      const at = view.at(e.clientX, e.clientY);
      now =
        which === "centre"
          ? { ...now, centre: at }
          : { ...now, radius: Math.max(4, Math.hypot(at[0] - now.centre[0], at[1] - now.centre[1])) };
      setDraft(now);
    };
    const end = (): void => {
      handle.removeEventListener("pointermove", move);
      handle.removeEventListener("pointerup", end);
      finish(now);
    };
    handle.addEventListener("pointermove", move);
    handle.addEventListener("pointerup", end);
  };
  const key = (which: "centre" | "rim") => (event: KeyboardEvent) => {
    const by = ({ ArrowLeft: [-px, 0], ArrowRight: [px, 0], ArrowUp: [0, -px], ArrowDown: [0, px] } as const)[
      event.key as "ArrowUp"
    ] as Px | undefined;
    if (!by) return;
    event.preventDefault();
    event.stopPropagation();
    finish(
      which === "centre"
        ? { centre: [centre[0] + by[0], centre[1] + by[1]], radius }
        : { centre, radius: Math.max(4, radius + by[0] - by[1]) },
    );
  };
  const handle = (which: "centre" | "rim", [x, y]: Px, words: string): JSX.Element => (
    <circle
      class="handle"
      cx={x}
      cy={y}
      r={14 * px}
      // In SVG names of attributes keep their case: tabIndex would be none.
      {...{ tabindex: 0 }}
      role="button"
      aria-label={words}
      onPointerDown={drag(which)}
      onKeyDown={key(which)}
    />
  );
  return (
    <g class="handles">
      <circle class="handle-circle" cx={centre[0]} cy={centre[1]} r={radius} />
      {handle("centre", centre, "Centre of the circle: drag, or move with the arrow keys")}
      {handle(
        "rim",
        [centre[0] + radius, centre[1]],
        "Size of the circle: drag, or change with the arrow keys",
      )}
    </g>
  );
}

import type { ComponentChildren, JSX } from "preact";
import { useCallback, useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import { picturePath } from "../ask.js";

export type Px = readonly [number, number];

export interface StageView {
  /** Screen pixels for one of the photograph. */
  readonly zoom: number;
  /** A point of the screen as pixels of the photograph; (0, 0) is the centre of the top-left pixel. */
  readonly at: (clientX: number, clientY: number) => Px;
}

interface StageProps {
  readonly survey: string;
  readonly photo: string;
  readonly sha256: string;
  readonly widthPx: number;
  readonly heightPx: number;
  /** Region to show first, and whenever it changes: x, y, side. */
  readonly focus: readonly [number, number, number] | undefined;
  /** Marks over the photograph, in its pixels. */
  readonly marks: (view: StageView) => ComponentChildren;
  /** A click that was no drag. */
  readonly onPoint?: (at: Px, view: StageView) => void;
  readonly label: string;
}

interface Place {
  readonly zoom: number;
  readonly x: number;
  readonly y: number;
}

const greatestZoom = 16;

/** A photograph to zoom and pan to the pixel: wheel, pinch, drag, buttons, or arrow keys with + and -. */
export function Stage(props: StageProps): JSX.Element {
  const { survey, photo, sha256, widthPx, heightPx, focus, marks, onPoint, label } = props;
  const box = useRef<HTMLDivElement>(null);
  const [place, setPlace] = useState<Place>();
  const [sharp, setSharp] = useState(false);
  const [size, setSize] = useState<Px>([0, 0]);

  const fit = useCallback((): Place | undefined => {
    const rect = box.current?.getBoundingClientRect();
    if (!rect || rect.width === 0) return undefined;
    const zoom = Math.min(rect.width / widthPx, rect.height / heightPx);
    return { zoom, x: (rect.width - widthPx * zoom) / 2, y: (rect.height - heightPx * zoom) / 2 };
  }, [widthPx, heightPx]);

  const clamp = useCallback(
    (wanted: Place): Place => {
      const rect = box.current?.getBoundingClientRect();
      const least = fit();
      if (!rect || !least) return wanted;
      const zoom = Math.min(greatestZoom, Math.max(least.zoom, wanted.zoom));
      const keep = (offset: number, room: number, length: number): number =>
        length * zoom <= room
          ? (room - length * zoom) / 2
          : Math.min(0, Math.max(room - length * zoom, offset));
      return { zoom, x: keep(wanted.x, rect.width, widthPx), y: keep(wanted.y, rect.height, heightPx) };
    },
    [fit, widthPx, heightPx],
  );

  const zoomAt = useCallback(
    (factor: number, sx?: number, sy?: number): void => {
      setPlace((now) => {
        const rect = box.current?.getBoundingClientRect();
        if (!now || !rect) return now;
        const px = sx ?? rect.width / 2;
        const py = sy ?? rect.height / 2;
        const least = fit()?.zoom ?? now.zoom;
        const zoom = Math.min(greatestZoom, Math.max(least, now.zoom * factor));
        const share = zoom / now.zoom;
        return clamp({ zoom, x: px - (px - now.x) * share, y: py - (py - now.y) * share });
      });
    },
    [clamp, fit],
  );

  useLayoutEffect(() => {
    const element = box.current!;
    const measure = (): void => {
      setSize([element.clientWidth, element.clientHeight]);
      setPlace((now) => (now ? clamp(now) : fit()));
    };
    measure();
    const observer = new ResizeObserver(measure);
    observer.observe(element);
    return () => observer.disconnect();
  }, [clamp, fit]);

  const focusKey = focus?.join(" ");
  useEffect(() => {
    const rect = box.current?.getBoundingClientRect();
    if (!focus || !rect || rect.width === 0) return;
    const [x, y, side] = focus;
    const zoom = Math.min(rect.width, rect.height) / (side * 1.15);
    setPlace(
      clamp({ zoom, x: rect.width / 2 - (x + side / 2) * zoom, y: rect.height / 2 - (y + side / 2) * zoom }),
    );
  }, [focusKey, clamp]);

  const at = (clientX: number, clientY: number): Px => {
    const rect = box.current!.getBoundingClientRect();
    const now = place!;
    return [(clientX - rect.left - now.x) / now.zoom - 0.5, (clientY - rect.top - now.y) / now.zoom - 0.5];
  };

  const pointers = useRef(new Map<number, { x: number; y: number }>());
  const dragged = useRef(0);
  const down = (event: PointerEvent): void => {
    // Marks that are moved take the pointer for themselves.
    if (event.button !== 0) return;
    pointers.current.set(event.pointerId, { x: event.clientX, y: event.clientY });
    dragged.current = 0;
  };
  const move = (event: PointerEvent): void => {
    const before = pointers.current.get(event.pointerId);
    if (!before) return;
    const others = [...pointers.current.entries()].filter(([id]) => id !== event.pointerId);
    const now = { x: event.clientX, y: event.clientY };
    dragged.current += Math.hypot(now.x - before.x, now.y - before.y);
    if (dragged.current > 4 && !box.current!.hasPointerCapture(event.pointerId))
      box.current!.setPointerCapture(event.pointerId);
    pointers.current.set(event.pointerId, now);
    const other = others[0]?.[1];
    if (other) {
      const was = Math.hypot(before.x - other.x, before.y - other.y);
      const is = Math.hypot(now.x - other.x, now.y - other.y);
      const rect = box.current!.getBoundingClientRect();
      if (was > 0) zoomAt(is / was, (now.x + other.x) / 2 - rect.left, (now.y + other.y) / 2 - rect.top);
      return;
    }
    setPlace((p) => p && clamp({ ...p, x: p.x + now.x - before.x, y: p.y + now.y - before.y }));
  };
  const up = (event: PointerEvent): void => {
    if (!pointers.current.delete(event.pointerId)) return;
    if (event.type === "pointerup" && dragged.current <= 4 && onPoint && place)
      onPoint(at(event.clientX, event.clientY), { zoom: place.zoom, at });
  };
  useEffect(() => {
    const element = box.current!;
    // Passive listeners may not keep the page from scrolling.
    const wheel = (event: WheelEvent): void => {
      event.preventDefault();
      const rect = element.getBoundingClientRect();
      zoomAt(Math.exp(-event.deltaY * 0.0015), event.clientX - rect.left, event.clientY - rect.top);
    };
    element.addEventListener("wheel", wheel, { passive: false });
    return () => element.removeEventListener("wheel", wheel);
  }, [zoomAt]);
  const key = (event: KeyboardEvent): void => {
    const step = 60;
    const moves: Record<string, Px> = {
      ArrowLeft: [step, 0],
      ArrowRight: [-step, 0],
      ArrowUp: [0, step],
      ArrowDown: [0, -step],
    };
    const by = moves[event.key];
    if (by) setPlace((p) => p && clamp({ ...p, x: p.x + by[0], y: p.y + by[1] }));
    else if (event.key === "+" || event.key === "=") zoomAt(1.4);
    else if (event.key === "-") zoomAt(1 / 1.4);
    else if (event.key === "0") setPlace(fit());
    else return;
    event.preventDefault();
  };
  // The original is fetched when the middle copy no longer does, and stays.
  const needsFull = place !== undefined && place.zoom * Math.max(widthPx, heightPx) * devicePixelRatio > 2200;
  const [full, setFull] = useState(false);
  useEffect(() => {
    if (needsFull) setFull(true);
  }, [needsFull]);
  const address = (size: "middle" | "full"): string => picturePath(survey, photo, sha256, size);
  return (
    <div class="stage-frame">
      <div
        class="stage"
        ref={box}
        tabIndex={0}
        role="group"
        aria-label={label}
        onPointerDown={down}
        onPointerMove={move}
        onPointerUp={up}
        onPointerCancel={up}
        onKeyDown={key}
      >
        {place && (
          <div
            class={place.zoom > 3 ? "sheet pixels" : "sheet"}
            ref={(element) => {
              // Set here and not as an attribute: the page's policy allows no styles in the text.
              if (!element) return;
              element.style.width = `${widthPx}px`;
              element.style.height = `${heightPx}px`;
              element.style.transform = `translate(${place.x}px, ${place.y}px) scale(${place.zoom})`;
            }}
          >
            <img src={address("middle")} alt="" draggable={false} />
            {full && (
              <img
                src={address("full")}
                alt=""
                draggable={false}
                class={sharp ? "" : "loading"}
                onLoad={() => setSharp(true)}
              />
            )}
          </div>
        )}
        {place && size[0] > 0 && (
          <svg
            class="marks"
            width={size[0]}
            height={size[1]}
            viewBox={`${-place.x / place.zoom - 0.5} ${-place.y / place.zoom - 0.5} ${size[0] / place.zoom} ${size[1] / place.zoom}`}
          >
            {marks({ zoom: place.zoom, at })}
          </svg>
        )}
      </div>
      <div class="stage-buttons" role="group" aria-label="Zoom">
        <button type="button" aria-label="Zoom in" onClick={() => zoomAt(1.6)}>
          +
        </button>
        <button type="button" aria-label="Zoom out" onClick={() => zoomAt(1 / 1.6)}>
          −
        </button>
        <button type="button" onClick={() => setPlace(fit())}>
          All
        </button>
        <button type="button" onClick={() => place && zoomAt(1 / place.zoom)}>
          1:1
        </button>
      </div>
    </div>
  );
}

import type { ComponentChildren, JSX } from "preact";
import { useEffect, useState } from "preact/hooks";

/** Children that wait for one frame: what stands beside them is on the screen first. */
export function AfterFrame({ children }: { children: ComponentChildren }): JSX.Element | null {
  const [waits, setWaits] = useState(true);
  useEffect(() => {
    // A task queued within a frame's callback runs once that frame was drawn. Hidden pages draw none.
    const [frame, late] = [requestAnimationFrame(() => setTimeout(show)), setTimeout(show, 200)];
    function show(): void {
      setWaits(false);
    }
    return () => {
      cancelAnimationFrame(frame);
      clearTimeout(late);
    };
  }, []);
  return waits ? null : <>{children}</>;
}

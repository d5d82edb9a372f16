import type { JSX } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import type { CaptureHint } from "../../wire.js";
import { hintFor } from "./hint.js";

/** The camera in the page, with what the bench says of every frame; where the browser gives one. */
export function LiveCamera({ onShot }: { onShot: (blob: Blob) => void }): JSX.Element {
  const video = useRef<HTMLVideoElement>(null);
  const [on, setOn] = useState(false);
  const [hint, setHint] = useState<CaptureHint>();
  const [problem, setProblem] = useState<string>();
  const stream = useRef<MediaStream | undefined>(undefined);
  const stop = (): void => {
    stream.current?.getTracks().forEach((track) => track.stop());
    stream.current = undefined;
    setOn(false);
  };
  useEffect(() => stop, []);
  useEffect(() => {
    if (!on) return;
    let ended = false;
    const look = async (): Promise<void> => {
      while (!ended) {
        const element = video.current;
        if (element && element.videoWidth > 0) {
          const now = await hintFor(element).catch(() => undefined);
          if (now && now.code !== "busy" && !ended) setHint(now);
        }
        await new Promise((done) => setTimeout(done, 700));
      }
    };
    void look();
    return () => {
      ended = true;
    };
  }, [on]);
  const start = async (): Promise<void> => {
    try {
      stream.current = await navigator.mediaDevices.getUserMedia({
        video: { facingMode: "environment", width: { ideal: 4096 }, height: { ideal: 3072 } },
      });
      video.current!.srcObject = stream.current;
      await video.current!.play();
      setOn(true);
    } catch {
      setProblem("The browser gives no camera here. Take a photograph with the button above.");
    }
  };
  const shoot = async (): Promise<void> => {
    const element = video.current!;
    const canvas = document.createElement("canvas");
    canvas.width = element.videoWidth;
    canvas.height = element.videoHeight;
    canvas.getContext("2d")!.drawImage(element, 0, 0);
    const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/jpeg", 0.95));
    if (blob) onShot(blob);
  };
  return (
    <section class="live" aria-label="Camera with hints">
      <video ref={video} class={on ? "" : "hidden"} playsInline muted />
      {on ? (
        <>
          <p role="status" class={`message ${hint?.ok ? "good" : "watch"}`}>
            <strong>{hint?.text ?? "Looking …"}</strong> {hint?.advice}
          </p>
          <button type="button" class="main" onClick={() => void shoot()}>
            Take it
          </button>
          <button type="button" onClick={stop}>
            Camera off
          </button>
        </>
      ) : (
        <button type="button" onClick={() => void start()}>
          Camera with hints
        </button>
      )}
      {problem !== undefined && <p class="message watch">{problem}</p>}
    </section>
  );
}

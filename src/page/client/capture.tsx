import { render, type JSX } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import type { CaptureHint } from "../wire.js";
import { ask } from "./ask.js";

/** The phone's page: photographs to the bench, untouched; hints before the shutter where the browser shows a camera. */
function CapturePage(): JSX.Element {
  const [sent, setSent] = useState<readonly { readonly name: string; readonly hint?: CaptureHint }[]>([]);
  const [busy, setBusy] = useState<string>();
  const [problem, setProblem] = useState<string>();
  const send = async (files: readonly Blob[], nameOf: (i: number) => string): Promise<void> => {
    setProblem(undefined);
    for (const [i, file] of files.entries()) {
      setBusy(`Sending ${i + 1} of ${files.length} …`);
      try {
        const name = nameOf(i);
        const { name: kept } = await ask<{ name: string }>(
          `/camera/photos?name=${encodeURIComponent(name)}`,
          { method: "POST", body: file },
        );
        const hint = await patientHint(file).catch(() => undefined);
        setSent((before) => [{ name: kept, ...(hint ? { hint } : {}) }, ...before]);
      } catch (error) {
        setProblem(error instanceof Error ? error.message : String(error));
      }
    }
    setBusy(undefined);
  };
  return (
    <main class="capture">
      <h1>Photographs for the bench</h1>
      <label class="button main shoot">
        Take a photograph
        <input
          class="hidden"
          type="file"
          accept="image/*"
          capture="environment"
          onChange={(event) => {
            const files = [...(event.currentTarget.files ?? [])];
            void send(files, (i) => files[i]!.name);
          }}
        />
      </label>
      <label class="button">
        Choose from the phone
        <input
          class="hidden"
          type="file"
          accept="image/*,.heic,.heif"
          multiple
          onChange={(event) => {
            const files = [...(event.currentTarget.files ?? [])];
            void send(files, (i) => files[i]!.name);
          }}
        />
      </label>
      <p role="status">{busy ?? (sent.length > 0 ? `${sent.length} sent.` : "")}</p>
      {problem !== undefined && (
        <p class="message fault" role="alert">
          {problem}
        </p>
      )}
      {"mediaDevices" in navigator && isSecureContext ? (
        <LiveCamera
          onShot={(blob) =>
            void send([blob], () => `photo-${new Date().toISOString().replace(/[:.]/g, "-")}.jpg`)
          }
        />
      ) : (
        <p class="quiet">
          Straight above, 40 cm up or more, the whole mat in the picture, soft light from two sides, no flash.
          The camera itself opens when you take a photograph; each one is looked at when it arrives.
        </p>
      )}
      <ul class="sent">
        {sent.map(({ name, hint }) => (
          <li key={name} class={hint && !hint.ok ? "watch" : ""}>
            <bdi>{name}</bdi>
            {hint && (
              <>
                : <strong>{hint.text}</strong> {hint.advice}
              </>
            )}
          </li>
        ))}
      </ul>
    </main>
  );
}

/** The bench looks at one picture at a time; the camera's own frames may be before this one. */
async function patientHint(picture: Blob): Promise<CaptureHint | undefined> {
  for (let tries = 0; tries < 8; tries++) {
    const hint = await hintFor(picture);
    if (hint.code !== "busy") return hint;
    await new Promise((done) => setTimeout(done, 500));
  }
  return undefined;
}

const hintSidePx = 1600;

/** What the bench says of a picture; a smaller copy goes there, made here. */
async function hintFor(picture: Blob | HTMLVideoElement): Promise<CaptureHint> {
  const bitmap = picture instanceof Blob ? await createImageBitmap(picture) : picture;
  const width = "videoWidth" in bitmap ? bitmap.videoWidth : bitmap.width;
  const height = "videoHeight" in bitmap ? bitmap.videoHeight : bitmap.height;
  const share = Math.min(1, hintSidePx / Math.max(width, height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(width * share);
  canvas.height = Math.round(height * share);
  canvas.getContext("2d")!.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/jpeg", 0.85));
  return ask<CaptureHint>("/camera/hint", { method: "POST", body: blob ?? new Blob() });
}

function LiveCamera({ onShot }: { onShot: (blob: Blob) => void }): JSX.Element {
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

render(<CapturePage />, document.getElementById("page")!);

import { render, type JSX } from "preact";
import { useState } from "preact/hooks";
import type { CaptureHint } from "../wire.js";
import { ask } from "./ask.js";
import { hintForSent } from "./capture/hint.js";
import { LiveCamera } from "./capture/live-camera.js";

interface Sent {
  readonly name: string;
  readonly hint?: CaptureHint;
}

/** The phone's page: photographs to the bench, untouched; hints before the shutter where the browser shows a camera. */
function CapturePage(): JSX.Element {
  const [sent, setSent] = useState<readonly Sent[]>([]);
  const [busy, setBusy] = useState<string>();
  const [problem, setProblem] = useState<string>();
  const send = async (files: readonly Blob[], nameOf: (i: number) => string): Promise<void> => {
    setProblem(undefined);
    for (const [i, file] of files.entries()) {
      const number = files.length === 1 ? "" : ` ${i + 1} of ${files.length}`;
      setBusy(`Sending${number} …`);
      try {
        const path = `/camera/photos?name=${encodeURIComponent(nameOf(i))}`;
        const { name } = await ask<{ name: string }>(path, { method: "POST", body: file });
        setBusy(`Looking at it${number} …`);
        const hint = await hintForSent(file, name);
        setSent((before) => [{ name, ...(hint ? { hint } : {}) }, ...before]);
      } catch (error) {
        setProblem(error instanceof Error ? error.message : String(error));
      }
    }
    setBusy(undefined);
  };
  const picked = (input: HTMLInputElement): void => {
    const files = [...(input.files ?? [])];
    void send(files, (i) => files[i]!.name);
    // The same file may be chosen again.
    input.value = "";
  };
  const [last, ...earlier] = sent;
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
          onChange={(event) => picked(event.currentTarget)}
        />
      </label>
      <div role="status" aria-live="assertive">
        {busy !== undefined ? <p class="message watch">{busy}</p> : last && <Verdict sent={last} />}
      </div>
      {problem !== undefined && (
        <p class="message fault" role="alert">
          {problem}
        </p>
      )}
      <label class="button">
        Choose from the phone
        <input
          class="hidden"
          type="file"
          accept="image/*,.heic,.heif"
          multiple
          onChange={(event) => picked(event.currentTarget)}
        />
      </label>
      <p>
        Straight above, 40 cm up or more, the whole mat in the picture, soft light from two sides, no flash.
      </p>
      {"mediaDevices" in navigator && isSecureContext ? (
        <LiveCamera
          onShot={(blob) =>
            void send([blob], () => `photo-${new Date().toISOString().replace(/[:.]/g, "-")}.jpg`)
          }
        />
      ) : (
        <p class="quiet">
          Hints before the shutter need an encrypted connection, and this one is not. Instead each photograph
          is looked at as soon as it has arrived, and what to do better stands here.
        </p>
      )}
      {earlier.length > 0 && (
        <>
          <h2>Sent before</h2>
          <ul class="sent">
            {earlier.map(({ name, hint }) => (
              <li key={name} class={hint && !hint.ok ? "watch" : ""}>
                <bdi>{name}</bdi>
                {hint && `: ${hint.text}`}
              </li>
            ))}
          </ul>
        </>
      )}
    </main>
  );
}

/** What the bench says of the photograph that came last, to be read at arm's length. */
function Verdict({ sent: { name, hint } }: { sent: Sent }): JSX.Element {
  return (
    <div class={`message verdict-now ${hint?.ok ? "good" : "watch"}`}>
      <p>
        <strong>{hint?.text ?? "Sent."}</strong> {hint?.advice}
      </p>
      <p class="quiet">
        <bdi>{name}</bdi> is on the bench{hint && !hint.ok ? "; take it once more." : "."}
      </p>
    </div>
  );
}

render(<CapturePage />, document.getElementById("page")!);

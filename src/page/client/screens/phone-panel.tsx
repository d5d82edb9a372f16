import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { SurveyState } from "../../wire.js";
import { ask, surveyPath } from "../ask.js";
import { useSurvey } from "../survey.js";

/** Switches the phone's way in on and off, and shows its code. */
export function PhonePanel(): JSX.Element {
  const { state, show, tell } = useSurvey();
  const { capture, name } = state;
  const [busy, setBusy] = useState(false);
  const turn = async (method: "POST" | "DELETE"): Promise<void> => {
    setBusy(true);
    try {
      show(await ask<SurveyState>(surveyPath(name, "capture"), { method }));
    } catch (error) {
      tell(error instanceof Error ? error.message : String(error));
    } finally {
      setBusy(false);
    }
  };
  if (!capture.on)
    return (
      <>
        <button type="button" disabled={busy} onClick={() => void turn("POST")}>
          Take with a phone
        </button>
        {capture.words !== undefined && <p class="message watch">{capture.words}</p>}
      </>
    );
  return (
    <section class="phone" aria-label="Phone">
      {capture.phoneJoined ? (
        <p>
          <strong>The phone is connected.</strong> {capture.received} photographs received. For another phone,
          switch off and on again.
        </p>
      ) : (
        <>
          {capture.qr && <Qr rows={capture.qr} />}
          <p>
            Scan this with the phone’s camera. Both must be in the same network. The address works once, for
            one phone:
            <br />
            <code class="address">{capture.url}</code>
          </p>
        </>
      )}
      <button type="button" disabled={busy} onClick={() => void turn("DELETE")}>
        Switch off
      </button>
    </section>
  );
}

function Qr({ rows }: { rows: readonly string[] }): JSX.Element {
  const n = rows.length;
  const path = rows
    .flatMap((row, y) => [...row].map((dark, x) => (dark === "1" ? `M${x} ${y}h1v1h-1z` : "")))
    .join("");
  return (
    <svg
      class="qr"
      viewBox={`-4 -4 ${n + 8} ${n + 8}`}
      role="img"
      aria-label="Code with the address for the phone"
      shape-rendering="crispEdges"
    >
      <rect x="-4" y="-4" width={n + 8} height={n + 8} fill="#fff" />
      <path d={path} fill="#000" />
    </svg>
  );
}

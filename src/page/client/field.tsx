import type { JSX, TargetedEvent } from "preact";
import { useEffect, useId, useRef, useState } from "preact/hooks";
import { Refused } from "./ask.js";

interface FieldProps {
  readonly label: string;
  readonly value: string;
  /** Keeps what was typed; resolves when it is on the disk. */
  readonly save: (value: string) => Promise<void>;
  /** Names this field among all: what could not be saved is kept in the browser under it. */
  readonly draftKey: string;
  readonly rows?: number;
  readonly hint?: string;
  readonly inputMode?: "decimal" | "numeric" | "text";
  readonly suggestions?: readonly string[];
}

/**
 * A field that saves itself while one types. What cannot be saved (the program was ended) stays in the browser and is
 * saved when both meet again.
 */
export function Field(props: FieldProps): JSX.Element {
  const { label, value, save, draftKey, rows, hint, inputMode = "text" } = props;
  const id = useId();
  const key = `draft ${draftKey}`;
  const [text, setText] = useState(() => localStorage.getItem(key) ?? value);
  const [status, setStatus] = useState("");
  const dirty = useRef(localStorage.getItem(key) !== null);
  const timer = useRef<ReturnType<typeof setTimeout> | undefined>(undefined);
  const latest = useRef({ text, save, value });
  latest.current = { text, save, value };

  useEffect(() => {
    if (!dirty.current) setText(value);
  }, [value]);

  const store = async (): Promise<void> => {
    clearTimeout(timer.current);
    if (!dirty.current) return;
    const { text: now, save: saveNow } = latest.current;
    try {
      await saveNow(now);
      if (latest.current.text === now) {
        dirty.current = false;
        localStorage.removeItem(key);
        setStatus("saved");
      }
    } catch (problem) {
      if (problem instanceof Refused && problem.code === "offline") {
        setStatus("waiting");
        timer.current = setTimeout(() => void store(), 2000);
      } else setStatus(problem instanceof Error ? problem.message : "not saved");
    }
  };

  useEffect(() => {
    // A draft of an earlier visit.
    if (dirty.current) void store();
    const leave = (): void => void store();
    addEventListener("pagehide", leave);
    return () => {
      removeEventListener("pagehide", leave);
      void store();
    };
  }, []);

  const typed = (event: TargetedEvent<HTMLInputElement | HTMLTextAreaElement>): void => {
    const now = event.currentTarget.value;
    dirty.current = true;
    localStorage.setItem(key, now);
    latest.current = { ...latest.current, text: now };
    setText(now);
    setStatus("typing");
    clearTimeout(timer.current);
    timer.current = setTimeout(() => void store(), 500);
  };
  const shared = {
    id,
    value: text,
    onInput: typed,
    onBlur: () => void store(),
    "aria-describedby": `${id}-status`,
    autocomplete: "off",
  } as const;
  const words =
    status === "typing"
      ? ""
      : status === "saved"
        ? "Saved."
        : status === "waiting"
          ? "Kept here; saved when the program answers."
          : status;
  return (
    <div class="field">
      <label for={id}>{label}</label>
      {rows === undefined ? (
        <input
          {...shared}
          type="text"
          inputMode={inputMode}
          {...(props.suggestions ? { list: `${id}-list` } : {})}
        />
      ) : (
        <textarea {...shared} rows={rows} />
      )}
      {props.suggestions && (
        <datalist id={`${id}-list`}>
          {props.suggestions.map((each) => (
            <option key={each} value={each} />
          ))}
        </datalist>
      )}
      <p class="field-status" id={`${id}-status`}>
        {words !== "" ? words : (hint ?? "")}
      </p>
    </div>
  );
}

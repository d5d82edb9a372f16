import { createContext } from "preact";
import { useCallback, useContext, useEffect, useRef, useState } from "preact/hooks";
import {
  changedBy,
  type Change,
  type PageEvent,
  type PhotoDetail,
  type Revisions,
  type SurveyState,
} from "../wire.js";
import { ask, post, Refused, surveyPath } from "./ask.js";

/** A result that came by itself, and the state of the files that it holds for. */
export interface Pushed {
  readonly detail: PhotoDetail;
  readonly revisions: Revisions;
}

export interface Survey {
  readonly state: SurveyState;
  /** False while the program does not answer. */
  readonly online: boolean;
  /** The result that came last, where somebody waited for it. */
  readonly pushed: Pushed | undefined;
  /** Goes up with everything that happens: what a screen asked for may have changed. */
  readonly version: number;
  /** Makes a change; resolves when it is written to the disk. @throws Refused */
  readonly change: (change: Change) => Promise<void>;
  readonly undo: () => Promise<void>;
  readonly redo: () => Promise<void>;
  readonly refresh: () => Promise<void>;
  readonly show: (state: SurveyState) => void;
  /** Shown to the user until it is closed. */
  readonly notice: string | undefined;
  readonly tell: (text: string | undefined) => void;
}

export const SurveyContext = createContext<Survey | undefined>(undefined);

export function useSurvey(): Survey {
  const survey = useContext(SurveyContext);
  if (!survey) throw new Error("no survey is open here");
  return survey;
}

/** One open survey: its state, kept up to date by the server's events. */
export function useSurveyState(name: string): Survey | { readonly error: string | undefined } {
  const [state, setState] = useState<SurveyState>();
  const [error, setError] = useState<string>();
  const [online, setOnline] = useState(true);
  const [version, setVersion] = useState(0);
  const [pushed, setPushed] = useState<Pushed>();
  const [notice, tell] = useState<string>();
  const newest = useRef<SurveyState | undefined>(undefined);
  const queue = useRef<Promise<unknown>>(Promise.resolve());

  const show = useCallback((next: SurveyState): void => {
    newest.current = next;
    setState(next);
    setVersion((v) => v + 1);
  }, []);

  const refresh = useCallback(async (): Promise<void> => {
    try {
      show(await ask<SurveyState>(surveyPath(name)));
      setError(undefined);
      setOnline(true);
    } catch (problem) {
      if (problem instanceof Refused && problem.code !== "offline") setError(problem.message);
      else setOnline(false);
    }
  }, [name, show]);

  useEffect(() => {
    newest.current = undefined;
    setState(undefined);
    void refresh();
    const events = new EventSource(surveyPath(name, "events"));
    let soon: ReturnType<typeof setTimeout> | undefined;
    events.onmessage = ({ data }: MessageEvent<string>) => {
      const event = JSON.parse(data) as PageEvent;
      setOnline(true);
      if (event.type === "photo") {
        const now = newest.current;
        if (!now) return;
        if (event.detail) setPushed({ detail: event.detail, revisions: now.revisions });
        const photos = now.photos.map((photo) => (photo.name === event.photo.name ? event.photo : photo));
        show({ ...now, photos, progress: event.progress });
      } else if (event.type === "changed") {
        clearTimeout(soon);
        soon = setTimeout(() => void refresh(), 60);
      }
    };
    events.onerror = () => setOnline(false);
    return () => {
      clearTimeout(soon);
      events.close();
    };
  }, [name, refresh, show]);

  // One change after the other: each is made to what the one before left.
  const inTurn = useCallback((task: () => Promise<void>): Promise<void> => {
    const done = queue.current.then(task, task);
    queue.current = done.catch(() => undefined);
    return done;
  }, []);

  const change = useCallback(
    (wanted: Change): Promise<void> =>
      inTurn(async () => {
        const now = newest.current;
        if (!now) return;
        try {
          const revision = now.revisions[changedBy(wanted)];
          show(await post<SurveyState>(surveyPath(name, "changes"), { change: wanted, revision }));
        } catch (problem) {
          if (problem instanceof Refused && problem.code === "conflict") await refresh();
          if (problem instanceof Refused && problem.code === "offline") setOnline(false);
          tell(problem instanceof Error ? problem.message : String(problem));
          throw problem;
        }
      }),
    [inTurn, name, refresh, show],
  );

  const step = useCallback(
    (which: "undo" | "redo"): Promise<void> =>
      inTurn(async () => {
        try {
          show(await post<SurveyState>(surveyPath(name, which)));
        } catch (problem) {
          tell(problem instanceof Error ? problem.message : String(problem));
        }
      }),
    [inTurn, name, show],
  );
  const undo = useCallback(() => step("undo"), [step]);
  const redo = useCallback(() => step("redo"), [step]);

  if (!state) return { error: online ? error : "The program does not answer. Start it again." };
  return { state, online, pushed, version, change, undo, redo, refresh, show, notice, tell };
}

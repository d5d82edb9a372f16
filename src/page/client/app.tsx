import type { JSX } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { routeTo, useRoute } from "./route.js";
import { MovementScreen } from "./screens/movement-screen.js";
import { PhotoScreen } from "./screens/photo-screen.js";
import { PhotosScreen } from "./screens/photos-screen.js";
import { SetsScreen } from "./screens/sets-screen.js";
import { ReportScreen } from "./screens/report-screen.js";
import { ShelfScreen } from "./screens/shelf-screen.js";
import { TodoScreen } from "./screens/todo-screen.js";
import { SurveyContext, useSurveyState, type Survey } from "./survey.js";

const tabs = [
  ["photos", "Photographs"],
  ["sets", "Sets"],
  ["movement", "Movement"],
  ["todo", "To do"],
  ["report", "Report"],
] as const;

export function App(): JSX.Element {
  const [survey, screen = "photos", item] = useRoute();
  if (survey === undefined) return <ShelfScreen />;
  return <SurveyFrame key={survey} name={survey} screen={screen} {...(item === undefined ? {} : { item })} />;
}

function SurveyFrame({ name, screen, item }: { name: string; screen: string; item?: string }): JSX.Element {
  const survey = useSurveyState(name);
  if (!("state" in survey))
    return (
      <main class="plain">
        <h1>{name}</h1>
        <p role="status">{survey.error ?? "Opening …"}</p>
        <p>
          <a href="#/">All surveys</a>
        </p>
      </main>
    );
  return (
    <SurveyContext.Provider value={survey}>
      <a class="skip" href="#main" onClick={skip}>
        Skip to the content
      </a>
      <TopBar survey={survey} screen={screen} />
      <Messages survey={survey} />
      <main id="main" tabIndex={-1} class={screen === "photo" ? "wide" : ""}>
        <Screen screen={screen} item={item} />
      </main>
    </SurveyContext.Provider>
  );
}

const skip = (event: Event): void => {
  event.preventDefault();
  document.getElementById("main")?.focus();
};

function Screen({ screen, item }: { screen: string; item: string | undefined }): JSX.Element {
  switch (screen) {
    case "photo":
      return item === undefined ? <PhotosScreen /> : <PhotoScreen key={item} name={item} />;
    case "sets":
      return <SetsScreen />;
    case "movement":
      return <MovementScreen />;
    case "todo":
      return <TodoScreen />;
    case "report":
      return <ReportScreen />;
    default:
      return <PhotosScreen />;
  }
}

function TopBar({ survey, screen }: { survey: Survey; screen: string }): JSX.Element {
  const { state, undo, redo } = survey;
  const title = state.statement.title ?? state.name;
  useEffect(() => {
    document.title = `${title} – wheelsurvey`;
  }, [title]);
  useEffect(() => {
    const key = (event: KeyboardEvent): void => {
      const inField = event.target instanceof HTMLInputElement || event.target instanceof HTMLTextAreaElement;
      if (inField || !(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
      event.preventDefault();
      void (event.shiftKey ? redo() : undo());
    };
    addEventListener("keydown", key);
    return () => removeEventListener("keydown", key);
  }, [undo, redo]);
  return (
    <header class="top">
      <div class="top-title">
        <a class="home" href="#/" aria-label="All surveys">
          <WheelMark />
        </a>
        <span class="title">
          <bdi>{title}</bdi>
        </span>
        <div class="history">
          <button
            type="button"
            disabled={state.undo === undefined}
            onClick={() => void undo()}
            title={state.undo ?? ""}
          >
            Undo<span class="quiet long"> {short(state.undo)}</span>
          </button>
          <button
            type="button"
            disabled={state.redo === undefined}
            onClick={() => void redo()}
            title={state.redo ?? ""}
          >
            Redo
          </button>
        </div>
      </div>
      <nav aria-label="Screens">
        {tabs.map(([key, words]) => {
          const current = key === screen || (key === "photos" && screen === "photo");
          return (
            <a
              key={key}
              href={routeTo(state.name, key)}
              {...(current ? { "aria-current": "page" as const } : {})}
            >
              {words}
            </a>
          );
        })}
      </nav>
    </header>
  );
}

const short = (text: string | undefined): string =>
  text === undefined ? "" : text.length > 28 ? `${text.slice(0, 27)}…` : text;

export function WheelMark(): JSX.Element {
  return (
    <svg viewBox="0 0 32 32" width="36" height="36" aria-hidden="true">
      <circle cx="16" cy="16" r="12" fill="none" class="mark-teeth" />
      <circle cx="16" cy="16" r="9.5" fill="none" class="mark-rim" />
      <path d="M16 7v18M7 16h18" class="mark-rim" />
      <circle cx="16" cy="16" r="2.5" class="mark-hub" />
    </svg>
  );
}

function Messages({ survey }: { survey: Survey }): JSX.Element {
  const { state, online, notice, tell } = survey;
  const close = useRef<HTMLButtonElement>(null);
  return (
    <div class="messages" role="status" aria-live="polite">
      {!online && (
        <p class="message watch">The program does not answer. What you type is kept until it does.</p>
      )}
      {state.faults.map(({ file, text }) => (
        <p key={file} class="message fault">
          {text}
        </p>
      ))}
      {notice !== undefined && (
        <p class="message watch">
          {notice}
          <button ref={close} type="button" onClick={() => tell(undefined)}>
            Close
          </button>
        </p>
      )}
    </div>
  );
}

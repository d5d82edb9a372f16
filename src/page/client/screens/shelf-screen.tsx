import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Shelf } from "../../wire.js";
import { ask, post } from "../ask.js";
import { WheelMark } from "../app.js";
import { routeTo } from "../route.js";

/** Choose a survey, or begin one. */
export function ShelfScreen(): JSX.Element {
  const [shelf, setShelf] = useState<Shelf>();
  const [problem, setProblem] = useState<string>();
  const [name, setName] = useState("");
  useEffect(() => {
    document.title = "Surveys – wheelsurvey";
    ask<Shelf>("/api/shelf").then(
      (found) => {
        setShelf(found);
        // Opened for one survey: there is nothing to choose.
        if (!found.canMake && found.surveys.length === 1)
          location.replace(routeTo(found.surveys[0]!.name, "photos"));
      },
      (error: Error) => setProblem(error.message),
    );
  }, []);
  const make = async (event: Event): Promise<void> => {
    event.preventDefault();
    try {
      const made = await post<{ name: string }>("/api/shelf", { name });
      location.hash = routeTo(made.name, "photos").slice(1);
    } catch (error) {
      setProblem(error instanceof Error ? error.message : String(error));
    }
  };
  return (
    <main class="plain">
      <h1>
        <WheelMark /> Surveys
      </h1>
      {problem !== undefined && (
        <p class="message fault" role="alert">
          {problem}
        </p>
      )}
      {shelf && (
        <>
          {shelf.surveys.length > 0 ? (
            <ul class="shelf">
              {shelf.surveys.map((survey) => (
                <li key={survey.name}>
                  <a href={routeTo(survey.name, "photos")}>
                    <strong>
                      <bdi>{survey.title ?? survey.name}</bdi>
                    </strong>
                    <span class="quiet">
                      <bdi>{survey.name}</bdi>, {survey.photoCount} photographs
                    </span>
                  </a>
                </li>
              ))}
            </ul>
          ) : (
            <p>No survey is in this folder yet.</p>
          )}
          {shelf.canMake && (
            <form class="new-survey" onSubmit={(event) => void make(event)}>
              <h2>New survey</h2>
              <label for="new-name">Name of its folder, such as “mantel-clock-12”</label>
              <div class="row">
                <input
                  id="new-name"
                  value={name}
                  maxLength={60}
                  onInput={(e) => setName(e.currentTarget.value)}
                  required
                />
                <button class="main" type="submit">
                  Begin
                </button>
              </div>
            </form>
          )}
          <p class="quiet">
            Folder: <bdi>{shelf.folder}</bdi>
          </p>
        </>
      )}
    </main>
  );
}

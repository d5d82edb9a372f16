import type { JSX, TargetedEvent } from "preact";
import { useRef, useState } from "preact/hooks";
import type { PhotoSummary } from "../../wire.js";
import { picturePath, post, surveyPath } from "../ask.js";
import { Chip } from "../chip.js";
import { routeTo } from "../route.js";
import { useSurvey } from "../survey.js";
import { droppedFiles, sendPhotos, type UploadResult } from "../upload.js";
import { MeasuringSettings } from "./measuring-settings.js";
import { PhonePanel } from "./phone-panel.js";

/** The bench: photographs in, results as they come. */
export function PhotosScreen(): JSX.Element {
  const { state, refresh } = useSurvey();
  const { photos, progress, name } = state;
  const [over, setOver] = useState(false);
  const [sending, setSending] = useState<string>();
  const [refused, setRefused] = useState<readonly UploadResult[]>([]);
  const picker = useRef<HTMLInputElement>(null);
  const folderPicker = useRef<HTMLInputElement>(null);
  const take = async (files: readonly File[]): Promise<void> => {
    if (files.length === 0) return;
    setRefused([]);
    const problems = await sendPhotos(name, files, (i) =>
      setSending(`Taking in ${i + 1} of ${files.length} …`),
    );
    setSending(undefined);
    setRefused(problems);
    await refresh();
  };
  const picked = (event: TargetedEvent<HTMLInputElement>): void => {
    void take([...(event.currentTarget.files ?? [])]);
    event.currentTarget.value = "";
  };
  const measuring = photos.some((photo) => photo.state === "waiting" || photo.state === "measuring");
  const stopped = photos.some((photo) => photo.state === "cancelled");
  return (
    <div
      class={over ? "drop over" : "drop"}
      onDragOver={(event) => {
        if (!event.dataTransfer?.types.includes("Files")) return;
        event.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={(event) => {
        event.preventDefault();
        setOver(false);
        if (event.dataTransfer) void droppedFiles(event.dataTransfer).then(take);
      }}
    >
      <h1>Photographs</h1>
      <div class="row">
        <button type="button" class="main" onClick={() => picker.current?.click()}>
          Add photographs
        </button>
        <button type="button" onClick={() => folderPicker.current?.click()}>
          Add a folder
        </button>
        <input
          ref={picker}
          class="hidden"
          type="file"
          multiple
          accept="image/*,.heic,.heif,.tif,.tiff"
          aria-label="Photographs to add"
          tabIndex={-1}
          onChange={picked}
        />
        <input
          ref={folderPicker}
          class="hidden"
          type="file"
          multiple
          aria-label="Folder to add"
          tabIndex={-1}
          {...{ webkitdirectory: true }}
          onChange={picked}
        />
        <PhonePanel />
      </div>
      <p class="quiet">Or drop photographs and folders anywhere here. The files stay as they are.</p>
      <p role="status" class="progress">
        {sending ??
          (measuring
            ? `Measured ${progress.done} of ${progress.total} photographs.`
            : photos.length === 0
              ? ""
              : `${progress.done} of ${progress.total} photographs measured.`)}
      </p>
      {measuring && (
        <div class="row">
          <progress max={progress.total} value={progress.done} aria-label="Photographs measured" />
          <button type="button" onClick={() => void post(surveyPath(name, "cancel"))}>
            Stop measuring
          </button>
        </div>
      )}
      {stopped && !measuring && (
        <button type="button" onClick={() => void post(surveyPath(name, "measure"))}>
          Go on measuring
        </button>
      )}
      {refused.length > 0 && (
        <div class="message fault" role="alert">
          <ul>
            {refused.map(({ name: file, problem }) => (
              <li key={file}>
                <bdi>{file}</bdi>: {problem}
              </li>
            ))}
          </ul>
          <button type="button" onClick={() => setRefused([])}>
            Close
          </button>
        </div>
      )}
      {photos.length === 0 ? (
        <FirstSteps />
      ) : (
        <ul class="photos" aria-label="Photographs of this survey">
          {photos.map((photo) => (
            <PhotoCard key={photo.name} survey={name} photo={photo} />
          ))}
        </ul>
      )}
      <MeasuringSettings />
    </div>
  );
}

function FirstSteps(): JSX.Element {
  return (
    <section class="empty">
      <h2>How it goes</h2>
      <ol>
        <li>
          Let the mainspring down fully before the plates are parted; take off weights; wear eye protection.
        </li>
        <li>Print the mat at 100 % and measure both its check bars.</li>
        <li>
          Lay the wheels flat on it, each with its tag beside it, and photograph them from straight above.
        </li>
        <li>Add the photographs here. Counts and sizes come by themselves.</li>
        <li>Look at what is not sure, put the wheels in their trains, and make the report.</li>
      </ol>
    </section>
  );
}

const stateWords = {
  waiting: "waiting",
  measuring: "measuring …",
  done: "",
  cancelled: "stopped",
  "left out": "left out",
} as const;

function PhotoCard({ survey, photo }: { survey: string; photo: PhotoSummary }): JSX.Element {
  const parts = [...photo.parts].sort((a, b) => ((a.label ?? "~") < (b.label ?? "~") ? -1 : 1));
  return (
    <li class={`photo-card ${photo.state.replace(" ", "-")}`}>
      <a href={routeTo(survey, "photo", photo.name)}>
        <span class="thumb">
          {photo.sha256 !== undefined && (
            <img
              src={picturePath(survey, photo.name, photo.sha256, "small")}
              alt=""
              loading="lazy"
              decoding="async"
            />
          )}
        </span>
        <span class="photo-name">
          <bdi>{photo.name}</bdi>
        </span>
        {photo.state !== "done" && <span class="badge">{stateWords[photo.state]}</span>}
        {parts.length > 0 && (
          <span class="chips">
            {parts.map((part) => (
              <Chip key={part.id} part={part} />
            ))}
          </span>
        )}
        {photo.state === "done" && photo.problem !== undefined && (
          <span class="problem">{photo.problem}</span>
        )}
      </a>
    </li>
  );
}

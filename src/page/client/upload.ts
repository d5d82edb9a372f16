import { ask, surveyPath } from "./ask.js";

export interface UploadResult {
  readonly name: string;
  readonly problem?: string;
}

const pictureName = /\.(jpe?g|png|webp|tiff?|heic|heif)$/i;

/** Files of a drop: also those in folders, at any depth, pictures only where a folder was dropped. */
export async function droppedFiles(data: DataTransfer): Promise<File[]> {
  const entries = [...data.items].map((item) => item.webkitGetAsEntry?.() ?? null);
  if (entries.every((entry) => entry === null)) return [...data.files];
  const files: File[] = [];
  const walk = async (entry: FileSystemEntry, inFolder: boolean): Promise<void> => {
    if (entry.isFile) {
      if (inFolder && !pictureName.test(entry.name)) return;
      files.push(await new Promise<File>((ok, no) => (entry as FileSystemFileEntry).file(ok, no)));
    } else if (entry.isDirectory) {
      const reader = (entry as FileSystemDirectoryEntry).createReader();
      for (;;) {
        const some = await new Promise<FileSystemEntry[]>((ok, no) => reader.readEntries(ok, no));
        if (some.length === 0) break;
        for (const each of some) await walk(each, true);
      }
    }
  };
  for (const entry of entries) if (entry) await walk(entry, false);
  return files;
}

/** Sends files one after the other, untouched. */
export async function sendPhotos(
  survey: string,
  files: readonly File[],
  progress: (done: number) => void,
): Promise<UploadResult[]> {
  const problems: UploadResult[] = [];
  for (const [i, file] of files.entries()) {
    progress(i);
    try {
      await ask(`${surveyPath(survey, "photos")}?name=${encodeURIComponent(file.name)}`, {
        method: "POST",
        body: file,
      });
    } catch (error) {
      problems.push({ name: file.name, problem: error instanceof Error ? error.message : String(error) });
    }
  }
  return problems;
}

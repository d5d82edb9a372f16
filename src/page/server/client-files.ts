import { readFile, readdir } from "node:fs/promises";
import { extname, join } from "node:path";
import { brotliCompressSync, constants } from "node:zlib";
import { UsageError } from "../../problem/index.js";
import { clientFolder } from "../client-folder.js";

export interface ClientFile {
  readonly type: string;
  readonly data: Uint8Array<ArrayBuffer>;
  readonly compressed?: Uint8Array<ArrayBuffer>;
  /** Named after its content: may be kept for ever. */
  readonly lasting: boolean;
}

const types: Readonly<Record<string, string>> = {
  ".html": "text/html; charset=utf-8",
  ".js": "text/javascript; charset=utf-8",
  ".css": "text/css; charset=utf-8",
  ".svg": "image/svg+xml",
  ".woff2": "font/woff2",
};

/**
 * All files of the client, read once: no request ever reaches the disk for them.
 *
 * @throws UsageError if the client was not built.
 */
export async function readClientFiles(folder = clientFolder): Promise<ReadonlyMap<string, ClientFile>> {
  const files = new Map<string, ClientFile>();
  const names = await readdir(folder, { recursive: true, withFileTypes: true }).catch((cause: unknown) => {
    throw new UsageError('page: its files are not built; call "npm run build" first', { cause });
  });
  for (const entry of names) {
    const type = types[extname(entry.name)];
    if (!entry.isFile() || type === undefined) continue;
    const path = join(entry.parentPath, entry.name);
    const data = new Uint8Array(await readFile(path));
    const name = path.slice(folder.length).split("\\").join("/").replace(/^\/+/, "");
    const packs = type.startsWith("text/");
    files.set(name, {
      type,
      data,
      ...(packs
        ? {
            compressed: new Uint8Array(
              brotliCompressSync(data, { params: { [constants.BROTLI_PARAM_QUALITY]: 5 } }),
            ),
          }
        : {}),
      lasting: name.startsWith("assets/"),
    });
  }
  if (!files.has("index.html"))
    throw new UsageError('page: its files are not built; call "npm run build" first');
  return files;
}

/** A file as an answer. */
export function clientAnswer(file: ClientFile, acceptsBrotli: boolean): Response {
  const packed = acceptsBrotli && file.compressed !== undefined;
  return new Response(packed ? file.compressed : file.data, {
    headers: {
      "content-type": file.type,
      ...(packed ? { "content-encoding": "br" } : {}),
      vary: "accept-encoding",
      "cache-control": file.lasting ? "private, max-age=31536000, immutable" : "no-store",
    },
  });
}

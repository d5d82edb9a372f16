/** Entry of a worker thread: paths in, measured photographs out, one at a time. */
import { parentPort, workerData } from "node:worker_threads";
import { measureForSets } from "./measure-photo.js";
import type { MeasurePhotoSettings } from "./measure-photo.js";

const port = parentPort;
if (!port) throw new Error("measure-worker: expected to be started as a worker thread");
const settings = workerData as MeasurePhotoSettings;
port.on("message", (path: string) => {
  // measureForSets turns every failure into a record; anything beyond that ends the thread, which its parent sees.
  void measureForSets(path, settings).then((measured) => port.postMessage(measured));
});

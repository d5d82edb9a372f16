/** Entry of a thread: evaluates the sets among the photographs that it is started with, and ends. */
import { parentPort, workerData } from "node:worker_threads";
import type { SetPhoto } from "../survey/index.js";
import { measureSets } from "./measure-sets.js";

const port = parentPort;
if (!port) throw new Error("set-worker: expected to be started as a worker thread");
port.postMessage(measureSets(workerData as readonly SetPhoto[]));

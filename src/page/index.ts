/** Room `page`: the page by the bench, its server and (as files) its client. May know every room above it. */
export { startPage, type PageOptions, type RunningPage } from "./server/start-page.js";
export type { FolderServices, KeptMeasurements } from "./server/folder-services.js";

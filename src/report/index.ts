/** Room `report`: what people look at and keep. May know the floor, photo and record. */
export { compareRecords, type RecordDifference } from "./compare-records.js";
export { surveyCsv } from "./csv.js";
export { renderHtml, type HtmlOptions } from "./html/render-html.js";
export { drawAnnotatedPhoto } from "./overlay/annotated-photo.js";
export { drawOverlay, type OverlayOptions } from "./overlay/overlay.js";
export { renderPdf, type PdfOptions } from "./pdf/render-pdf.js";
export {
  prepareReport,
  type ComposedReport,
  type PhotoSource,
  type PrepareOptions,
} from "./prepare-report.js";
export {
  laidOverPlot,
  setPlots,
  type LaidOverPlot,
  type OpenPhoto,
  type SetPlot,
} from "./plots/set-plots.js";
export type { PrivateData } from "./content/provenance.js";
export type { LostCounts, PartSheet, TrainPapers, TrainPicture, WeighedCounts } from "./train-papers.js";

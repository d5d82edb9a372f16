import { xmlText } from "../xml-text.js";
import { drawOutlineSvg } from "./outline-svg.js";
import type { CuttingSheet } from "./sheet.js";
import { checkFirst } from "./sheet.js";
import type { LengthOptions } from "./sheet-rows.js";
import { indexingLines, sheetCoverage, sheetRows } from "./sheet-rows.js";

/** One page to print and take to the bench: figures, warnings, the outline at true size, every index angle. */
export function drawSheetHtml(sheet: CuttingSheet, options: LengthOptions = {}): string {
  const outline = drawOutlineSvg(sheet)?.replace(/^<\?xml[^>]*>\s*<!--[^>]*-->\s*/, "");
  const row = (label: string, value: string) =>
    `<tr><th scope="row">${xmlText(label)}</th><td>${xmlText(value)}</td></tr>`;
  const list = (items: readonly string[]) =>
    `<ul>${items.map((item) => `<li>${xmlText(item)}</li>`).join("")}</ul>`;
  return `<!doctype html>
<!-- wheelsurvey cutting sheet -->
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<title>Cutting sheet: ${xmlText(sheet.words)}</title>
<style>
@page { size: A4; margin: 12mm }
body { font: 9.5pt/1.3 sans-serif; color: #000; background: #fff; margin: 0 auto; max-width: 186mm }
h1 { font-size: 14pt; margin: 0 0 2mm }
h2 { font-size: 11pt; margin: 3mm 0 1mm }
.check { border: 0.6mm solid #000; padding: 1.5mm 3mm; font-weight: bold }
table { border-collapse: collapse; width: 100% }
th, td { text-align: left; vertical-align: top; padding: 0.4mm 2mm 0.4mm 0; border-bottom: 0.1mm solid #999 }
th { width: 46mm; font-weight: normal }
ul { margin: 1mm 0; padding-left: 5mm }
figure { margin: 3mm 0; text-align: center; break-inside: avoid }
figure svg { max-width: none }
ol { columns: 8; font-size: 7pt; line-height: 1.2; margin: 1mm 0; padding: 0 0 0 7mm; font-variant-numeric: tabular-nums }
</style>
</head>
<body>
<h1>Cutting sheet: ${xmlText(sheet.words)}</h1>
<p class="check">${checkFirst}</p>
${sheet.warnings.length > 0 ? `<h2>Look at first</h2>${list(sheet.warnings)}` : ""}
<h2>Figures</h2>
<table>${sheetRows(sheet, options)
    .map(({ label, value }) => row(label, value))
    .join("\n")}</table>
<p>± is the expanded uncertainty (k = ${sheetCoverage}) as far as the module carries it; the tooth form is taken as exact.</p>
<h2>Indexing</h2>
${sheet.indexing ? list(indexingLines(sheet.indexing)) : "<p>No dividing plate was named.</p>"}
${outline === undefined ? "" : `<figure>${outline}</figure>`}
<h2>Places of the teeth, degrees</h2>
<ol>${Array.from({ length: sheet.count }, (_, k) => `<li>${((360 * k) / sheet.count).toFixed(4)}</li>`).join("")}</ol>
</body>
</html>
`;
}

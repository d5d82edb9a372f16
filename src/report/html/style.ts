export type Paper = "a4" | "letter";

const pageSize: Readonly<Record<Paper, string>> = { a4: "210mm 297mm", letter: "8.5in 11in" };

/** A text as a CSS string: everything but plain letters and digits by number, so that nothing ends it. */
const cssString = (text: string): string =>
  `"${[...text].map((c) => (/[A-Za-z0-9 ]/.test(c) ? c : `\\${c.codePointAt(0)!.toString(16)} `)).join("")}"`;

/**
 * The report's dress: made for paper first, in black on white, with rules instead of boxes and weights instead
 * of colours.
 *
 * @param foot said at the foot of every printed page, `notice` at the head.
 * @param fontFaces rules that bring the fonts along; see `webFontFaces`.
 */
export const reportStyle = (
  paper: Paper,
  foot: string,
  fontFaces: string,
  notice = "",
): string => `${fontFaces}
:root { --ink: #1b1a17; --soft: #57524a; --rule: #b9b2a3; --faint: #e6e1d6; --paper: #ffffff; --link: #5a4108; }
* { box-sizing: border-box; }
html { font-size: 106.25%; -webkit-text-size-adjust: 100%; }
body { margin: 0; overflow-wrap: anywhere; background: var(--paper); color: var(--ink); line-height: 1.5;
  font-family: "Source Serif 4", Charter, Cambria, "Noto Serif", "DejaVu Serif", Georgia, serif; }
main, header.title, nav { max-width: 50rem; margin: 0 auto; padding: 0 1.5rem; }
h1, h2, h3 { line-height: 1.2; font-weight: 600; text-wrap: balance; overflow-wrap: anywhere; }
h1 { font-size: 2.1rem; margin: 0 0 .3rem; letter-spacing: -.01em; }
h2 { font-size: 1.45rem; margin: 3.2rem 0 .9rem; padding-top: .7rem; border-top: 2px solid var(--ink); }
h2 .number { color: var(--soft); font-weight: 400; margin-right: .6em; font-variant-numeric: lining-nums; }
h3 { font-size: 1.1rem; margin: 1.9rem 0 .5rem; }
p, ul, ol { margin: .6rem 0; }
.quiet { color: var(--soft); font-size: .92rem; }
a { color: var(--link); text-underline-offset: .15em; text-decoration-thickness: 1px; }
a:focus-visible, .table:focus-visible { outline: 2px solid var(--link); outline-offset: 2px; }
.said { white-space: pre-line; overflow-wrap: anywhere; }
code { font: .82em/1.4 "DejaVu Sans Mono", Consolas, Menlo, monospace; overflow-wrap: anywhere; }
.skip { position: absolute; left: -100vw; }
.skip:focus { left: 1rem; top: 1rem; background: var(--paper); padding: .5rem 1rem; }

header.title { padding-top: 3.5rem; }
header.title .subtitle { margin: 0 0 1.6rem; font-size: 1.05rem; color: var(--soft); font-style: italic; }
.notice { border: 2px solid var(--ink); padding: .5rem .9rem; font-weight: 600; margin: 0 0 1.4rem; }
nav h2 { font-size: 1rem; border: 0; margin: 1.6rem 0 .4rem; padding: 0; }
nav ol { columns: 2; column-gap: 2.5rem; padding-left: 1.6rem; margin: 0; font-size: .95rem; }

dl { margin: .6rem 0 1rem; }
dl > div { display: grid; grid-template-columns: 12rem 1fr; gap: 0 1rem; padding: .28rem 0; border-bottom: 1px solid var(--faint); }
dt { font-family: "Source Sans 3", system-ui, "DejaVu Sans", Verdana, Arial, sans-serif; font-size: .8rem; line-height: 1.5; color: var(--soft); padding-top: .12rem; }
dd { margin: 0; min-width: 0; overflow-wrap: anywhere; }

.table { overflow-x: auto; margin: 1rem 0 1.2rem; }
table { border-collapse: collapse; width: 100%; font: .84rem/1.4 "Source Sans 3", system-ui, "DejaVu Sans", Verdana, Arial, sans-serif;
  font-variant-numeric: tabular-nums lining-nums; border-bottom: 1.5px solid var(--ink); }
table.small { font-size: .76rem; }
caption { text-align: left; font: 600 .95rem/1.4 "Source Serif 4", Charter, Cambria, "Noto Serif", Georgia, serif; padding-bottom: .35rem; }
/* A table that is wider than the screen is moved to and fro; what it is called stays. */
caption span { display: inline-block; position: sticky; left: 0; max-width: min(100%, calc(100vw - 3.2rem)); }
th, td { padding: .3rem .9rem .3rem 0; vertical-align: top; text-align: left; overflow-wrap: anywhere; }
th:last-child, td:last-child { padding-right: 0; }
thead th { border-top: 1.5px solid var(--ink); border-bottom: 1px solid var(--ink); font-weight: 600; font-size: .92em; vertical-align: bottom; overflow-wrap: normal; }
tbody th { font-weight: 400; }
tbody tr + tr > * { border-top: 1px solid var(--faint); }
.right { text-align: right; }
td.right { white-space: nowrap; overflow-wrap: normal; }

figure { margin: 1.1rem 0; }
figure svg { display: block; width: 100%; height: auto; max-height: 80vh; background: var(--paper); }
${[1, 2, 3, 4, 5, 6, 7, 8, 9].map((tenths) => `figure.share-${tenths} svg { width: ${tenths}0%; }`).join("\n")}
figure.true-size svg { width: auto; height: auto; max-width: 100%; max-height: none; }
figcaption { font-size: .86rem; color: var(--soft); margin-top: .4rem; line-height: 1.4; }
.pair { display: grid; grid-template-columns: minmax(0, 11fr) minmax(0, 10fr); gap: 0 1.6rem; align-items: start; }
.pair figure { margin-top: .3rem; }
.pair dl { margin-top: .2rem; }
.pair dl > div { grid-template-columns: 1fr; }

article { padding-top: .4rem; }
article + article { border-top: 1px solid var(--rule); margin-top: 2rem; }
article h3 { font-size: 1.2rem; font-weight: 400; }
article h3 strong { font-size: 1.1em; margin-right: .35em; }

ol.findings { list-style: none; padding: 0; }
ol.findings li { display: grid; grid-template-columns: 4.4rem 1fr; gap: .8rem; padding: .4rem 0; border-bottom: 1px solid var(--faint); align-items: baseline; }
.severity { font: 600 .74rem/1.5 "Source Sans 3", system-ui, "DejaVu Sans", Verdana, Arial, sans-serif; text-align: center; border: 1.5px solid var(--ink); border-radius: 2px; padding: 0 .3rem; }
.severity.fault { background: var(--ink); color: var(--paper); }
.severity.note { border-color: var(--rule); font-weight: 400; }
.evidence { white-space: nowrap; }
footer { max-width: 50rem; margin: 3rem auto 2rem; padding: .8rem 1.5rem 0; color: var(--soft); font-size: .85rem; }

@media (max-width: 40rem) {
  .pair { grid-template-columns: 1fr; }
  dl > div { grid-template-columns: 1fr; }
  nav ol { columns: 1; }
  /* Wider than the screen and moved sideways, rather than words broken in two. */
  table { min-width: 32rem; }
  figure:not(.true-size) svg { width: 100%; }
}
@page { size: ${pageSize[paper]}; margin: 17mm 17mm 20mm;
  @top-left { content: ${cssString(notice)}; font: 8pt "Source Sans 3", system-ui, "DejaVu Sans", sans-serif; color: #1b1a17; }
  @bottom-left { content: ${cssString(foot)}; font: 8pt "Source Sans 3", system-ui, "DejaVu Sans", sans-serif; color: #57524a; }
  @bottom-right { content: counter(page) " / " counter(pages); font: 8pt "Source Sans 3", system-ui, "DejaVu Sans", sans-serif; color: #57524a; } }
@media print {
  html { font-size: 10.4pt; }
  main, header.title, nav, footer { max-width: none; padding-left: 0; padding-right: 0; }
  header.title { padding-top: 0; }
  .skip { display: none; }
  a { color: inherit; text-decoration-color: var(--rule); }
  section.new-page, main > section:first-child { break-before: page; }
  /* Browsers print no backgrounds unless told: white letters would vanish. */
  .severity.fault { background: none; color: var(--ink); border-width: 2.5px; font-weight: 700; }
  section.new-page > h2 { margin-top: 0; }
  h2, h3 { break-after: avoid; }
  h2 { margin-top: 2rem; }
  figure, tr, dl > div, ol.findings li, .pair { break-inside: avoid; }
  .table { overflow: visible; }
  thead { display: table-header-group; }
  table { font-size: 8.2pt; }
  table.small { font-size: 7.6pt; }
  th, td { padding-top: .16rem; padding-bottom: .16rem; }
  dl > div { padding: .16rem 0; }
  article + article { margin-top: 1.4rem; }
  figure svg { max-height: 150mm; }
  figure.true-size svg { max-width: none; max-height: none; }
  header.title figure svg { max-height: 105mm; }
  #photographs figure svg { max-height: 108mm; }
  p, li { orphans: 3; widows: 3; }
}
`;

import { createHash } from "node:crypto";
import { renderToString } from "preact-render-to-string";
import type { ReportContent } from "../content/content.js";
import { shownText } from "../shown-text.js";
import { Blocks, type Embedded, type Pictures } from "./blocks.js";
import { reportStyle, type Paper } from "./style.js";

export interface HtmlOptions {
  /** Size of the printed page; default A4. */
  readonly paper?: Paper;
  /** Fonts to bring along; default: those of the reader's machine. */
  readonly fontFaces?: string;
}

/**
 * The report as one HTML file that asks nobody for anything: style and pictures stand inside it, and its policy
 * forbids everything else.
 */
export function renderHtml(content: ReportContent, pictures: Pictures, options: HtmlOptions = {}): string {
  const style = reportStyle(options.paper ?? "a4", content.foot, options.fontFaces ?? "", content.notice);
  const hash = createHash("sha256").update(style).digest("base64");
  const policy = `default-src 'none'; img-src data:; font-src data:; style-src 'sha256-${hash}'; base-uri 'none'; form-action 'none'`;
  const embedded: Embedded = new Set();
  const shared = { pictures, embedded };
  const document = (
    <html lang="en">
      <head>
        <meta charset="utf-8" />
        <meta http-equiv="Content-Security-Policy" content={policy} />
        <meta name="viewport" content="width=device-width, initial-scale=1" />
        <meta name="referrer" content="no-referrer" />
        <title>{shownText(content.title)}</title>
        <style dangerouslySetInnerHTML={{ __html: style }} />
      </head>
      <body>
        <a class="skip" href="#summary">
          Skip to the summary
        </a>
        <header class="title">
          <h1>
            <bdi>{shownText(content.title)}</bdi>
          </h1>
          <p class="subtitle">{content.subtitle}</p>
          {content.notice !== undefined && <p class="notice">{shownText(content.notice)}</p>}
          <Blocks blocks={[{ kind: "facts", rows: content.facts }]} {...shared} />
          {content.cover && <Blocks blocks={[content.cover]} {...shared} />}
        </header>
        <nav aria-labelledby="contents-title">
          <h2 id="contents-title">Contents</h2>
          <ol>
            {content.sections.map((section) => (
              <li key={section.id}>
                <a href={`#${section.id}`}>{section.title}</a>
              </li>
            ))}
          </ol>
        </nav>
        <main>
          {content.sections.map((section, i) => (
            <section
              key={section.id}
              id={section.id}
              aria-labelledby={`${section.id}-title`}
              {...(section.newPage ? { class: "new-page" } : {})}
            >
              <h2 id={`${section.id}-title`}>
                <span class="number">{i + 1}</span>
                {section.title}
              </h2>
              <Blocks blocks={section.blocks} {...shared} />
            </section>
          ))}
        </main>
        <footer>
          <bdi>{content.foot}</bdi>
        </footer>
      </body>
    </html>
  );
  return `<!DOCTYPE html>\n${renderToString(document)}\n`;
}

import type { ComponentChildren, JSX } from "preact";
import type { Block, FigureBlock, FindingItem, Inline, TableBlock, Words } from "../content/content.js";
import { severityWords } from "../content/content.js";
import type { Picture } from "../pictures.js";
import { shownText } from "../shown-text.js";

export type Pictures = ReadonlyMap<string, Picture>;

/** Pictures that stand in the document already: shown again by reference. */
export type Embedded = Set<string>;

export function Text({ words }: { readonly words: Words }): JSX.Element {
  if (typeof words === "string") return <>{words}</>;
  return (
    <>
      {words.map((w, i) => (
        <InlineText key={i} inline={w} />
      ))}
    </>
  );
}

function InlineText({ inline: w }: { readonly inline: Inline }): JSX.Element {
  if (typeof w === "string") return <>{w}</>;
  if ("bold" in w) return <strong>{shownText(w.bold)}</strong>;
  if ("said" in w) return <bdi class="said">{shownText(w.said, { max: 20_000, lines: true })}</bdi>;
  if ("code" in w) return <code>{w.code}</code>;
  return <a href={`#${w.to}`}>{shownText(w.text)}</a>;
}

function Figure(props: {
  readonly block: FigureBlock;
  readonly pictures: Pictures;
  readonly embedded: Embedded;
}): JSX.Element {
  const { block, pictures, embedded } = props;
  const { x, y, width, height } = block.box;
  const picture = block.picture === undefined ? undefined : pictures.get(block.picture);
  const pictureId = `picture-${block.picture}`;
  const again = picture && embedded.has(pictureId);
  if (picture) embedded.add(pictureId);
  return (
    <figure {...(block.id === undefined ? {} : { id: block.id })} class={figureClass(block)}>
      <svg
        viewBox={`${x} ${y} ${width} ${height}`}
        role="img"
        aria-label={shownText(block.alt, { max: 400 })}
        {...trueSize(block)}
        class={picture ? "photo" : "plot"}
      >
        {picture && again && <use href={`#${pictureId}`} />}
        {picture && !again && (
          <image
            id={pictureId}
            x={picture.box.x}
            y={picture.box.y}
            width={picture.box.width}
            height={picture.box.height}
            preserveAspectRatio="none"
            href={`data:image/jpeg;base64,${picture.jpeg.toString("base64")}`}
          />
        )}
        {picture && (
          <rect
            x={x}
            y={y}
            width={width}
            height={height}
            fill="none"
            stroke="#b9b2a3"
            stroke-width={Math.ceil(width / 400)}
          />
        )}
        {block.drawing}
      </svg>
      <figcaption>
        <Text words={block.caption} />
      </figcaption>
    </figure>
  );
}

/** Shares of the line go in tenths: the page's policy knows no styles but those of its sheet. */
const figureClass = ({ width, trueWidthMm }: FigureBlock): string =>
  trueWidthMm !== undefined ? "true-size" : width === undefined ? "wide" : `share-${Math.round(width * 10)}`;

const trueSize = ({ box, trueWidthMm }: FigureBlock): { width?: string; height?: string } =>
  trueWidthMm === undefined
    ? {}
    : { width: `${trueWidthMm}mm`, height: `${(trueWidthMm * box.height) / box.width}mm` };

function Table({ block }: { readonly block: TableBlock }): JSX.Element {
  const align = (i: number): string => (block.columns[i]?.align === "right" ? "right" : "left");
  return (
    <section class="table" aria-label={shownText(block.caption)} tabIndex={0}>
      <table {...(block.small ? { class: "small" } : {})}>
        <caption>
          <span>{shownText(block.caption)}</span>
        </caption>
        <thead>
          <tr>
            {block.columns.map((column, i) => (
              <th key={i} scope="col" class={align(i)}>
                {column.head}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {block.rows.map((row, r) => (
            <tr key={r}>
              {row.map((cell, i) =>
                i === 0 ? (
                  <th key={i} scope="row" class={align(i)}>
                    <Text words={cell} />
                  </th>
                ) : (
                  <td key={i} class={align(i)}>
                    <Text words={cell} />
                  </td>
                ),
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

function Findings({ items }: { readonly items: readonly FindingItem[] }): JSX.Element {
  return (
    <ol class="findings">
      {items.map((item, i) => (
        <li key={i}>
          <span class={`severity ${item.severity}`}>{severityWords[item.severity]}</span>{" "}
          <span>
            <Text words={item.words} />
            {item.evidence && (
              <>
                {" "}
                <a class="evidence" href={`#${item.evidence.to}`}>
                  {`See ${shownText(item.evidence.text)}`}
                </a>
              </>
            )}
          </span>
        </li>
      ))}
    </ol>
  );
}

export function Blocks(props: {
  readonly blocks: readonly Block[];
  readonly pictures: Pictures;
  readonly embedded: Embedded;
}): JSX.Element {
  const { blocks, ...shared } = props;
  return (
    <>
      {blocks.map((block, i) => (
        <BlockView key={i} block={block} {...shared} />
      ))}
    </>
  );
}

function BlockView(props: {
  readonly block: Block;
  readonly pictures: Pictures;
  readonly embedded: Embedded;
}): JSX.Element {
  const { block, ...shared } = props;
  switch (block.kind) {
    case "paragraph":
      return (
        <p {...(block.quiet ? { class: "quiet" } : {})}>
          <Text words={block.words} />
        </p>
      );
    case "list": {
      const items = block.items.map((item, i) => (
        <li key={i}>
          <Text words={item} />
        </li>
      ));
      return block.ordered ? <ol>{items}</ol> : <ul>{items}</ul>;
    }
    case "facts":
      return (
        <dl>
          {block.rows.map((row, i) => (
            <Row key={i} term={row.term}>
              <Text words={row.words} />
            </Row>
          ))}
        </dl>
      );
    case "table":
      return <Table block={block} />;
    case "figure":
      return <Figure block={block} {...shared} />;
    case "findings":
      return <Findings items={block.items} />;
    case "pair":
      return (
        <div class="pair">
          <div>
            <Blocks blocks={block.left} {...shared} />
          </div>
          <div>
            <Blocks blocks={block.right} {...shared} />
          </div>
        </div>
      );
    case "part":
      return (
        <article id={block.id} aria-labelledby={`${block.id}-title`}>
          <h3 id={`${block.id}-title`}>
            <Text words={block.title} />
          </h3>
          <Blocks blocks={block.blocks} {...shared} />
        </article>
      );
    case "heading":
      return <h3 {...(block.id === undefined ? {} : { id: block.id })}>{shownText(block.title)}</h3>;
    default:
      return block satisfies never;
  }
}

function Row({
  term,
  children,
}: {
  readonly term: string;
  readonly children: ComponentChildren;
}): JSX.Element {
  return (
    <div>
      <dt>{term}</dt>
      <dd>{children}</dd>
    </div>
  );
}

const entities: Readonly<Record<string, string>> = {
  "&": "&amp;",
  "<": "&lt;",
  ">": "&gt;",
  '"': "&quot;",
  "'": "&#39;",
};

/**
 * Text from outside for SVG and HTML, content or quoted attribute. Characters that XML forbids or that turn the
 * reading direction become U+FFFD, so that a name cannot break a document or pass for another.
 */
export const xmlText = (text: string): string =>
  text
    .replace(/[\p{Cc}\p{Cf}\p{Cs}\p{Zl}\p{Zp}\uFFFE\uFFFF]/gu, "\uFFFD")
    .replace(/[&<>"']/g, (c) => entities[c]!);

import { PRACTICE_NAME, PRACTICE_WARNING } from '../job/practice-mark.ts';
import { sha256Base64 } from '../sha256.ts';
import { type Html, html, htmlText, markup } from './html.ts';
import { TOKENS } from './tokens.ts';

/** What makes one self-contained page. Styles and scripts are text of this program, never of a user. */
export interface PageParts {
  readonly title: string;
  /** One sentence for the page's description. */
  readonly description: string;
  /** Everything inside `<body>`. */
  readonly body: Html;
  /** Styles after the shared tokens. */
  readonly css?: string;
  /** Scripts that run once the body is there, in this order. */
  readonly scripts?: readonly string[];
  /** Scripts kept in the page as text under an element id, allowed by the policy to be run later, on demand. */
  readonly stored?: readonly { readonly id: string; readonly text: string }[];
  /** Plain data for the scripts, by element id (read with JSON.parse of its text). */
  readonly data?: readonly { readonly id: string; readonly value: unknown }[];
  /** Address of a web app manifest, of a page that can be installed. */
  readonly manifest?: string;
  /** Directives added to the policy, e.g. `{ 'worker-src': 'blob:' }`. */
  readonly policy?: Readonly<Record<string, string>>;
  /** Extra `style-src` sources, for a stored script that makes its own style elements. */
  readonly styleSources?: readonly string[];
}

/** Hash source of an empty style element: lets a script add rules through the style sheet interface only. */
export const EMPTY_STYLE = `'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='`;

/**
 * The whole page as text. Its content security policy allows exactly the scripts and styles written here, by
 * SHA-256, and no connection of any kind.
 */
export function page(parts: PageParts): string {
  // Every page has the job's name in its title, so a practice cannot be shown or printed without saying so.
  const practice = parts.title.includes(PRACTICE_NAME);
  const css = TOKENS + (parts.css ?? '') + (practice ? PRACTICE_CSS : '');
  const scripts = parts.scripts ?? [];
  const stored = parts.stored ?? [];
  checkRawText(css, 'style');
  for (const text of [...scripts, ...stored.map((s) => s.text)]) checkRawText(text, 'script');
  const hashes = [...scripts, ...stored.map((s) => s.text)].map(hashSource);
  const directives: Record<string, string> = {
    'default-src': `'none'`,
    'script-src': hashes.length === 0 ? `'none'` : hashes.join(' '),
    'style-src': [hashSource(css), ...(parts.styleSources ?? [])].join(' '),
    'img-src': 'data:',
    'base-uri': `'none'`,
    'form-action': `'none'`,
    ...parts.policy,
  };
  const policy = Object.entries(directives)
    .map(([name, sources]) => `${name} ${sources}`)
    .join('; ');
  return htmlText(html`<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<meta name="description" content="${parts.description}">
<title>${parts.title}</title>
<link rel="icon" href="data:,">
${parts.manifest === undefined ? '' : html`<link rel="manifest" href="${parts.manifest}">\n`}<style>${markup(css)}</style>
</head>
<body>
${practice ? html`<p class="practice-band">${PRACTICE_WARNING}</p>\n` : ''}${parts.body}
${(parts.data ?? []).map((d) => html`<script type="application/json" id="${d.id}">${markup(jsonText(d.value))}</script>\n`)}${stored.map(
  (s) => html`<script type="text/plain" id="${s.id}">${markup(s.text)}</script>\n`,
)}${scripts.map((text) => html`<script>${markup(text)}</script>\n`)}</body>
</html>
`);
}

/** A band over the page, and a line at the head of every sheet of it when printed. */
const PRACTICE_CSS = `
.practice-band { margin: 0; max-width: none; padding: 6px 12px; background: #5b2a86; color: #fff; font: 600 14px/1.4 sans-serif; text-align: center; }
@media print {
  .practice-band { margin-bottom: 2mm; padding: 1mm; font-size: 9pt; -webkit-print-color-adjust: exact; print-color-adjust: exact; }
  @page { @top-center { content: "${PRACTICE_WARNING}"; font: 700 8pt sans-serif; color: #5b2a86; } }
}
`;

/** JSON that cannot end a script element or start a comment in it, whatever text it carries. */
function jsonText(value: unknown): string {
  return JSON.stringify(value).replaceAll('<', '\\u003c');
}

function hashSource(text: string): string {
  return `'sha256-${sha256Base64(text)}'`;
}

/** Script and style text goes in as it stands, so that its hash holds; what would end the element early is refused. */
function checkRawText(text: string, element: 'script' | 'style'): void {
  // Written so that this very code can stand inside a page's script.
  const ends = element === 'script' ? /<[/]script/i : /<[/]style/i;
  if (ends.test(text) || (/<!-{2}/.test(text) && /<script/i.test(text)) || /[\r\0]/.test(text)) {
    throw new Error('text of a script or style that cannot stand inside the page');
  }
}

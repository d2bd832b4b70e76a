/**
 * Markup as a value of its own: text put into `html` is always escaped, markup is not escaped twice,
 * and a plain string can never be taken for markup by mistake.
 */
const MARKUP = Symbol('markup');

export interface Html {
  readonly [MARKUP]: string;
}

type Part = Html | string | number | null | undefined | false | readonly Part[];

/** Characters that mean something in HTML text or in a quoted attribute. */
const ENTITIES: Record<string, string> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what this looks for
const UNSAFE = /[&<>"'\u0000-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]/;

/**
 * Text safe in HTML text and in a quoted attribute. Control characters, which HTML cannot hold, and characters
 * that reorder the text around them become U+FFFD, so that a name can neither break the page nor disguise itself.
 */
export function escapeHtml(text: string): string {
  // Nearly every value is a plain number or word: one look is enough for those.
  if (!UNSAFE.test(text)) return text;
  return text
    .replace(/[&<>"']/g, (character) => ENTITIES[character]!)
    .replace(/[\p{Cc}\u202A-\u202E\u2066-\u2069]/gu, (c) => (c === '\n' || c === '\t' ? c : '\uFFFD'));
}

/** Template tag: literal parts are markup, every value is escaped unless it is markup already. */
export function html(strings: TemplateStringsArray, ...values: readonly Part[]): Html {
  let text = strings[0]!;
  for (let i = 0; i < values.length; i++) text += render(values[i]) + strings[i + 1]!;
  return { [MARKUP]: text };
}

/** Markup from a string written by this program (never by a user). */
export function markup(text: string): Html {
  return { [MARKUP]: text };
}

/** The text of a piece of markup, for writing to a file. */
export function htmlText(part: Html): string {
  return part[MARKUP];
}

function render(value: Part): string {
  if (value === null || value === undefined || value === false) return '';
  if (typeof value === 'string') return escapeHtml(value);
  if (typeof value === 'number') return String(value);
  if (isMarkup(value)) return value[MARKUP];
  return value.map(render).join('');
}

function isMarkup(value: Html | readonly Part[]): value is Html {
  return MARKUP in value;
}

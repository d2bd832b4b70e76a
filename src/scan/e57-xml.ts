/** An element of the XML part of an E57 file: its children in order, and its text. */
export interface XmlElement {
  readonly name: string;
  readonly attributes: ReadonlyMap<string, string>;
  readonly children: XmlElement[];
  text: string;
}

/** Deepest nesting followed: E57 needs a dozen. */
const DEEPEST = 100;
const ENTITIES: Readonly<Record<string, string>> = { lt: '<', gt: '>', amp: '&', quot: '"', apos: "'" };

/**
 * Reads well-formed XML as E57 writers make it: elements, attributes, text, CDATA; comments and declarations are passed
 * over. Document types are refused, so that nothing can grow. (XML 1.0, from memory of the document.)
 * @returns null where it is not well formed
 */
export function parseXml(text: string): XmlElement | null {
  const token =
    /<!--[\s\S]*?-->|<\?[\s\S]*?\?>|<!\[CDATA\[([\s\S]*?)\]\]>|<(\/?)([A-Za-z_][\w:.-]*)((?:[^<>"']|"[^"]*"|'[^']*')*?)(\/?)>|([^<]+)|(<)/g;
  const stack: XmlElement[] = [];
  let root: XmlElement | null = null;
  for (const [whole, cdata, closing, name, rest, alone, words, stray] of text.matchAll(token)) {
    if (stray !== undefined) return null;
    const top = stack.at(-1);
    if (cdata !== undefined || words !== undefined) {
      if (top !== undefined) top.text += cdata ?? decoded(words!);
      else if (whole.replace(/^\ufeff/, '').trim() !== '') return null;
      continue;
    }
    if (name === undefined) continue;
    if (closing === '/') {
      if (top?.name !== name) return null;
      stack.pop();
      continue;
    }
    const element: XmlElement = { name, attributes: attributesOf(rest!), children: [], text: '' };
    if (top !== undefined) top.children.push(element);
    else if (root === null) root = element;
    else return null;
    if (alone !== '/') stack.push(element);
    if (stack.length > DEEPEST) return null;
  }
  return stack.length === 0 ? root : null;
}

function attributesOf(text: string): Map<string, string> {
  const out = new Map<string, string>();
  for (const [, name, double, single] of text.matchAll(/([A-Za-z_][\w:.-]*)\s*=\s*(?:"([^"]*)"|'([^']*)')/g))
    out.set(name!, decoded(double ?? single ?? ''));
  return out;
}

function decoded(text: string): string {
  return text.replace(/&(?:#(\d+)|#x([\da-f]+)|(\w+));/gi, (whole, decimal, hex, name) =>
    name !== undefined
      ? (ENTITIES[name] ?? whole)
      : String.fromCodePoint(
          Math.min(0x10ffff, Number.parseInt(decimal ?? hex, decimal === undefined ? 16 : 10)),
        ),
  );
}

/** The first child of that name. */
export function child(element: XmlElement | undefined, name: string): XmlElement | undefined {
  return element?.children.find((each) => each.name === name);
}

import { type Html, htmlText } from '../../report/html.ts';

/**
 * Brings what is in an element to what is wanted, keeping every node that can stay: focus, the place scrolled to, an
 * opened `details` and a half-typed text survive every redraw.
 *
 * A field shows what its markup says (`value`, `checked`, `selected`), unless it has the focus. A text without `value`,
 * a choice without `selected` and whatever carries `data-own` is the person's once it stands there. Elements are the
 * same where kind and id (or `data-id`, `data-row`) are.
 */
export function patch(element: Element, content: Html): void {
  const wanted = document.createElement('template');
  wanted.innerHTML = htmlText(content);
  const held = document.activeElement;
  patchChildren(element, wanted.content);
  // A browser takes the focus from a node that is moved.
  if (held instanceof HTMLElement && held !== document.activeElement && element.contains(held))
    held.focus({ preventScroll: true });
}

function patchChildren(at: Node, wanted: Node): void {
  const nexts = [...wanted.childNodes];
  const left = new Map<string, number>();
  for (const next of nexts) left.set(keyOf(next), (left.get(keyOf(next)) ?? 0) + 1);
  let old = at.firstChild;
  for (const next of nexts) {
    while (old !== null && (left.get(keyOf(old)) ?? 0) === 0) old = removed(old);
    left.set(keyOf(next), left.get(keyOf(next))! - 1);
    const same = sameFrom(old, next);
    if (same === null) {
      at.insertBefore(next, old);
      continue;
    }
    if (same === old) old = old.nextSibling;
    else at.insertBefore(same, old);
    if (same instanceof Element) patchElement(same, next as Element);
    else if (same.nodeValue !== next.nodeValue) same.nodeValue = next.nodeValue;
  }
  while (old !== null) old = removed(old);
}

function sameFrom(from: ChildNode | null, next: Node): ChildNode | null {
  const key = keyOf(next);
  for (let each = from; each !== null; each = each.nextSibling) if (keyOf(each) === key) return each;
  return null;
}

function removed(node: ChildNode): ChildNode | null {
  const after = node.nextSibling;
  node.remove();
  return after;
}

function keyOf(node: Node): string {
  if (!(node instanceof Element)) return node.nodeName;
  return `${node.nodeName} ${node.id || (node.getAttribute('data-id') ?? node.getAttribute('data-row') ?? '')}`;
}

function patchElement(old: Element, next: Element): void {
  for (const { name } of [...old.attributes]) {
    // What a person opened stays open.
    const own = name === 'open' && old instanceof HTMLDetailsElement;
    if (!next.hasAttribute(name) && !own) old.removeAttribute(name);
  }
  for (const { name, value } of [...next.attributes]) {
    if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  }
  patchChildren(old, next);
  if (old !== document.activeElement && !next.hasAttribute('data-own')) showState(old, next);
}

/** What a field shows is not in its attributes once somebody has typed. */
function showState(old: Element, next: Element): void {
  if (old instanceof HTMLInputElement && next instanceof HTMLInputElement) {
    if (next.type === 'radio' || next.type === 'checkbox') old.checked = next.checked;
    else if (next.hasAttribute('value') && old.value !== next.value) old.value = next.value;
  } else if (old instanceof HTMLTextAreaElement && next instanceof HTMLTextAreaElement) {
    if (old.value !== next.value) old.value = next.value;
  } else if (old instanceof HTMLSelectElement && next instanceof HTMLSelectElement) {
    if (next.querySelector('[selected]') !== null) old.value = next.value;
  }
}

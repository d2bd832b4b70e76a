import { type Html, htmlText } from '../../report/html.ts';

/** An element that the skeleton is known to hold. */
export function byId<T extends HTMLElement = HTMLElement>(id: string): T {
  const element = document.getElementById(id);
  if (element === null) throw new Error(`the page has no element ${id}`);
  return element as T;
}

/** Replaces what is in an element. Only markup made with `html` fits, so every text in it is escaped. */
export function fill(element: Element, content: Html): void {
  element.innerHTML = htmlText(content);
}

export function show(id: string, visible: boolean): void {
  byId(id).hidden = !visible;
}

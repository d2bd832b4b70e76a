export { patch as fill } from './patch.ts';

/** An element that the skeleton is known to hold. */
export function byId<T extends HTMLElement = HTMLElement>(id: string): T {
  const element = document.getElementById(id);
  if (element === null) throw new Error(`the page has no element ${id}`);
  return element as T;
}

export function show(id: string, visible: boolean): void {
  byId(id).hidden = !visible;
}

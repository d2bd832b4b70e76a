import { type Html, html } from './html.ts';
import { NARROW, WIDE } from './svg.ts';

/** A drawing with its caption, made once for a page and once for a phone. */
export function figure(title: string, text: Html | string, draw: (width: number) => Html): Html {
  return html`<figure><figcaption><strong>${title}.</strong> ${text}</figcaption>${draw(WIDE)}${draw(NARROW)}</figure>`;
}

import { type Html, html } from './html.ts';
import { NARROW, WIDE } from './svg.ts';

/** A drawing with its caption, made once for a page and once for a phone; one that `grows` takes what room a leaf has left. */
export function figure(
  title: string,
  text: Html | string,
  draw: (width: number) => Html,
  grows = false,
): Html {
  return html`<figure${grows ? html` class="grow"` : ''}><figcaption><strong>${title}.</strong> ${text}</figcaption>${draw(WIDE)}${draw(NARROW)}</figure>`;
}

import { type Html, html } from './html.ts';
import { NARROW, WIDE } from './svg.ts';

/**
 * A drawing with its caption, made once for a page and once for a phone.
 *
 * @param grows takes what room a leaf has left, its caption one line there, or the `whole` of it
 */
export function figure(
  title: string,
  text: Html | string,
  draw: (width: number) => Html,
  grows: boolean | 'whole' = false,
): Html {
  return html`<figure${grows ? html` class="${grows === 'whole' ? 'grow whole' : 'grow'}"` : ''}><figcaption><strong>${title}.</strong> ${text}</figcaption>${draw(WIDE)}${draw(NARROW)}</figure>`;
}

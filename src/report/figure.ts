import { type Html, html } from './html.ts';
import { NARROW, WIDE } from './svg.ts';

/**
 * A drawing with its caption, made once for a page and once for a phone.
 *
 * @param role grow: takes what room a leaf has left, its caption one line there, or the whole of it; large: higher on paper
 */
export function figure(
  title: string,
  text: Html | string,
  draw: (width: number) => Html,
  role: '' | 'grow' | 'grow whole' | 'large' = '',
): Html {
  return html`<figure${role !== '' ? html` class="${role}"` : ''}><figcaption><strong>${title}.</strong> ${text}</figcaption>${draw(WIDE)}${draw(NARROW)}</figure>`;
}

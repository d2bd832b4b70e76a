import { inertText } from '../inert-text.ts';

const LAYOUT = '\\n|\\t';
const REDRAW = '\\r|\\u001b\\[K';
const COLOUR = '\\u001b\\[(?:0|1|2|22|3[0-7]|39|4[0-7]|49|9[0-7])?m';

/**
 * The last guard before a terminal or pipe: whatever a message was put together from, only line ends, tabs and what
 * is allowed get through; every other control character is shown as its escape. Inside a JSON string the escape means
 * the same character, so documents are unharmed.
 *
 * @param allow `colour`: plain colour codes may pass; `redraw`: a carriage return may start the line again (progress)
 */
export function terminalText(
  text: string,
  allow: { readonly colour: boolean; readonly redraw: boolean },
): string {
  const passing = [LAYOUT, ...(allow.colour ? [COLOUR] : []), ...(allow.redraw ? [REDRAW] : [])].join('|');
  return text
    .split(new RegExp(`(${passing})`))
    .map((part, index) => (index % 2 === 1 ? part : inertText(part)))
    .join('');
}

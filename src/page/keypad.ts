/** What the keys of the page do to the text of a reading. Plain text in, plain text out. */

export type Key =
  | { readonly kind: 'digit'; readonly digit: string }
  | { readonly kind: 'fraction'; readonly sixteenths: number }
  | { readonly kind: 'thirty-second' }
  | { readonly kind: 'point' }
  | { readonly kind: 'half' }
  | { readonly kind: 'feet' }
  | { readonly kind: 'sign' }
  | { readonly kind: 'back' };

/** A reading in the making: [-][feet'-][whole][ over/under]. */
interface Parts {
  readonly minus: boolean;
  readonly feet: string;
  readonly whole: string;
  readonly fraction: string;
}

// A fraction follows whole inches after a space or stands alone: 11/16 is not 1 and 1/16.
const SHAPE = /^(-?)(?:(\d+)'-?)?(?:(\d+(?:\.\d*)?|\.\d*)(?: (\d+\/\d+))?|(\d+\/\d+))?"?$/;

/** Most digits a reading can have before it is surely a slip. */
const MOST_DIGITS = 6;

/**
 * The text after a key. Text that was typed in another form (by a real keyboard) is only ever shortened or
 * appended to, never rewritten.
 *
 * @param fresh true for the first key after a filled field was chosen: digits and fractions then start anew
 */
export function pressKey(text: string, key: Key, fresh = false): string {
  if (fresh && key.kind !== 'back' && key.kind !== 'sign' && key.kind !== 'thirty-second') {
    return pressKey('', key);
  }
  const parts = partsOf(text);
  if (parts === null) return pressForeign(text, key);
  switch (key.kind) {
    case 'digit':
      if (parts.fraction !== '' || parts.whole.replace('.', '').length >= MOST_DIGITS) return text;
      return written({ ...parts, whole: parts.whole === '0' ? key.digit : parts.whole + key.digit });
    case 'fraction':
      if (parts.whole.includes('.')) return text;
      return written({ ...parts, whole: plainZero(parts.whole), fraction: reduced(key.sixteenths * 2) });
    case 'thirty-second':
      if (parts.whole.includes('.')) return text;
      return nextThirtySecond(parts, text);
    case 'point':
      if (parts.fraction !== '' || parts.whole.includes('.')) return text;
      return written({ ...parts, whole: `${parts.whole === '' ? '0' : parts.whole}.` });
    case 'half':
      if (parts.fraction !== '' || parts.whole.includes('.')) return text;
      return written({ ...parts, whole: `${parts.whole === '' ? '0' : parts.whole}.5` });
    case 'feet':
      if (parts.feet !== '' || parts.fraction !== '' || !/^\d+$/.test(parts.whole)) return text;
      return written({ ...parts, feet: parts.whole, whole: '' });
    case 'sign':
      return written({ ...parts, minus: !parts.minus });
    case 'back':
      return written(shorter(parts));
  }
}

function partsOf(text: string): Parts | null {
  const match = SHAPE.exec(text.trim());
  return match === null
    ? null
    : {
        minus: match[1] === '-',
        feet: match[2] ?? '',
        whole: match[3] ?? '',
        fraction: match[4] ?? match[5] ?? '',
      };
}

function written({ minus, feet, whole, fraction }: Parts): string {
  const inches = [whole, fraction].filter((part) => part !== '').join(' ');
  const body = feet === '' ? inches : `${feet}'-${inches}${inches === '' ? '' : '"'}`;
  return (minus ? '-' : '') + body;
}

function shorter(parts: Parts): Parts {
  if (parts.fraction !== '') return { ...parts, fraction: '' };
  if (parts.whole !== '') return { ...parts, whole: parts.whole.slice(0, -1) };
  if (parts.feet !== '') return { ...parts, feet: '', whole: parts.feet };
  return { ...parts, minus: false };
}

function plainZero(whole: string): string {
  return whole === '0' ? '' : whole;
}

/** `over` thirty-seconds as a reduced fraction; empty for none. */
function reduced(over: number): string {
  let top = over;
  let bottom = 32;
  while (top > 0 && top % 2 === 0) {
    top /= 2;
    bottom /= 2;
  }
  return top === 0 ? '' : `${top}/${bottom}`;
}

/** One thirty-second more, going over to the next inch where it must; a reading on a 32nd goes back down. */
function nextThirtySecond(parts: Parts, text: string): string {
  const [top = 0, bottom = 1] = parts.fraction === '' ? [] : parts.fraction.split('/').map(toInteger);
  const over = (top * 32) / bottom;
  if (!Number.isInteger(over)) return text;
  return written({
    ...parts,
    whole: plainZero(parts.whole),
    fraction: reduced(over % 2 === 0 ? over + 1 : over - 1),
  });
}

function toInteger(digits: string): number {
  return Number.parseInt(digits, 10);
}

function pressForeign(text: string, key: Key): string {
  switch (key.kind) {
    case 'back':
      return text.slice(0, -1);
    case 'digit':
      return text + key.digit;
    case 'point':
      return `${text}.`;
    case 'sign':
      return text.startsWith('-') ? text.slice(1) : `-${text}`;
    default:
      return text;
  }
}

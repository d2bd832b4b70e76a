import type { JobUnits } from '../job/job.ts';
import { type Html, html } from '../report/html.ts';
import type { Key } from './keypad.ts';

/** Name of a key in the page, and the key it stands for. */
export function keyOf(name: string): Key | null {
  const [kind, value = ''] = name.split(' ');
  switch (kind) {
    case 'digit':
      return { kind, digit: value };
    case 'fraction':
      return { kind, sixteenths: Number.parseInt(value, 10) };
    case 'thirty-second':
    case 'point':
    case 'half':
    case 'feet':
    case 'sign':
    case 'back':
      return { kind };
    default:
      return null;
  }
}

const DIGITS = ['7', '8', '9', '4', '5', '6', '1', '2', '3'];

/**
 * The keys for a job's units. Inches: digits beside the fifteen sixteenths in the order of a tape, each with its tape
 * mark. Millimetres: digits, point and a half.
 *
 * @param act what a key does in a part of a room; left out: the keys are heard by whoever holds them
 */
export function keypadHtml(units: JobUnits, act = ''): Html {
  const button = (name: string, label: string, shown: string | Html, style: string) =>
    keyButton(name, label, shown, style, act);
  const digits = DIGITS.map((digit) => button(`digit ${digit}`, digit, digit, 'digit'));
  const sign = button('sign', 'plus or minus', '+/\u2212', 'other');
  const zero = button('digit 0', '0', '0', 'digit');
  const back = button('back', 'rub out', '\u232b', 'other');
  const point = button('point', 'decimal point', '.', 'other');
  if (units === 'si') {
    return html`<div class="keys metric" role="group" aria-label="Keypad">${digits.slice(0, 3)}${back}${digits.slice(3, 6)}${sign}${digits.slice(6)}${point}${zero}${button('half', 'and a half millimetre', '.5', 'digit wide')}</div>`;
  }
  return html`<div class="keys inches" role="group" aria-label="Keypad"><div class="digits">${digits}${sign}${zero}${back}${button('feet', 'ft, feet', 'ft', 'other')}${point}${button('thirty-second', '+1/32, one thirty-second more', html`+${fraction(1, 32)}`, 'other')}</div><div class="tape">${Array.from({ length: 15 }, (_, i) => tapeKey(i + 1, act))}${button('fraction 0', 'whole inches, no fraction', 'whole', 'tape-key t1')}</div></div>`;
}

function tapeKey(sixteenths: number, act: string): Html {
  let top = sixteenths;
  let bottom = 16;
  while (top % 2 === 0) {
    top /= 2;
    bottom /= 2;
  }
  return keyButton(
    `fraction ${sixteenths}`,
    `${top}/${bottom}`,
    fraction(top, bottom),
    `tape-key t${bottom}`,
    act,
  );
}

function fraction(top: number, bottom: number): Html {
  return html`<span class="fraction"><span>${top}</span><span class="over">/</span><span>${bottom}</span></span>`;
}

function keyButton(name: string, label: string, shown: string | Html, style: string, act: string): Html {
  const does = act === '' ? '' : html` data-act="${act}"`;
  return html`<button type="button" class="key ${style}"${does} data-key="${name}" aria-label="${label}">${shown}</button>`;
}

/**
 * Field books and spreadsheets write the same mark in many ways. Everything that means one thing is folded
 * into one ASCII form before it is read: primes and curly quotes, the several minus signs and hyphens, vulgar
 * fractions, superscript fractions, odd spaces, full-width digits.
 */

const VULGAR: Record<string, string> = {
  '½': '1/2',
  '¼': '1/4',
  '¾': '3/4',
  '⅛': '1/8',
  '⅜': '3/8',
  '⅝': '5/8',
  '⅞': '7/8',
  '⅓': '1/3',
  '⅔': '2/3',
  '⅕': '1/5',
  '⅖': '2/5',
  '⅗': '3/5',
  '⅘': '4/5',
  '⅙': '1/6',
  '⅚': '5/6',
  '⅐': '1/7',
  '⅑': '1/9',
  '⅒': '1/10',
};

const SUPERSCRIPTS = '⁰¹²³⁴⁵⁶⁷⁸⁹';
const SUBSCRIPTS = '₀₁₂₃₄₅₆₇₈₉';

// Plain ASCII text needs none of this; most cells leave here.
const PLAIN = /^[\x20-\x7e]*$/;

/** No number, date, word or heading of a field book is longer; a longer cell is read by no pattern, whose time could grow with its square. */
export const LONGEST_CELL = 200;

/** One written form for one meaning; trims, and makes runs of spaces one; never changes a value. Over `LONGEST_CELL` characters stay as they are. */
export function foldFieldText(text: string): string {
  if (text.length > LONGEST_CELL) return text;
  if (PLAIN.test(text)) return (text.includes('  ') ? text.replace(/ +/g, ' ') : text).trim();
  return text
    .replace(/[\s\u00a0\u2000-\u200a\u202f\u205f\u3000]+/g, ' ')
    .replace(/[\u200b\u2060\ufeff]/g, '')
    .replace(/[′‘’ʹ´`＇]/g, "'")
    .replace(/[″“”ʺ〃＂]/g, '"')
    .replace(/[−–‐‑﹣－]/g, '-')
    .replace(/＋/g, '+')
    .replace(/[０-９]/g, (c) => String.fromCharCode(c.charCodeAt(0) - 0xfee0))
    .replace(/[½¼¾⅛⅜⅝⅞⅓⅔⅕⅖⅗⅘⅙⅚⅐⅑⅒]/g, (c) => ` ${VULGAR[c]}`)
    .replace(
      /([⁰¹²³⁴⁵⁶⁷⁸⁹]+)[⁄∕/]([₀₁₂₃₄₅₆₇₈₉]+)/g,
      (_, over: string, under: string) => ` ${digits(over, SUPERSCRIPTS)}/${digits(under, SUBSCRIPTS)}`,
    )
    .replace(/[⁄∕]/g, '/')
    .replace(/ +/g, ' ')
    .trim();
}

function digits(text: string, alphabet: string): string {
  return [...text].map((c) => alphabet.indexOf(c)).join('');
}

/**
 * A file name that is safe on every system: the last part of what was given, with only letters, digits,
 * dot, dash and underscore, no leading dot, at most 80 characters, ending in `.csv`.
 */
export function safeCsvName(given: string): string {
  const last = given.split(/[\\/]/).at(-1) ?? '';
  const stem = last
    .replace(/\.(csv|txt|tsv)$/i, '')
    .normalize('NFC')
    .replace(/[^\p{L}\p{N}._-]+/gu, '-')
    .replace(/^[.-]+|[.-]+$/g, '');
  const short = Array.from(stem).slice(0, 80).join('');
  const reserved = /^(con|prn|aux|nul|com[\d¹²³]|lpt[\d¹²³])(\.|$)/i.test(short);
  return `${short === '' || reserved ? `readings-${short}`.replace(/-$/, '') : short}.csv`;
}

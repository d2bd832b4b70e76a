/**
 * Keeps what was read from a cell by its text: in a file of a million rows the same dates, lines and fractions come again
 * and again. Forgets everything when full, so that memory stays bounded. Long cells are not kept.
 */
export function remembered<T>(read: (text: string) => T, most = 4096): (text: string) => T {
  const known = new Map<string, T>();
  let lastText: string | null = null;
  let last: T;
  return (text) => {
    if (text === lastText) return last;
    let value = known.get(text);
    if (value === undefined) {
      value = read(text);
      if (text.length > 40) return value;
      if (known.size >= most) known.clear();
      known.set(text, value);
    }
    lastText = text;
    last = value;
    return value;
  };
}

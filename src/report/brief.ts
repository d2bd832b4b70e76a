/**
 * A text cut to what a bounded place holds: whole sentences while they fit; of a first sentence that is too long, its
 * words while they fit, with an ellipsis that says so.
 */
export function brief(text: string, most: number): string {
  if (text.length <= most) return text;
  let kept = '';
  for (const sentence of text.split(/(?<=[.!?])\s+/)) {
    const longer = kept === '' ? sentence : `${kept} ${sentence}`;
    if (longer.length > most) break;
    kept = longer;
  }
  if (kept !== '') return `${kept} …`;
  const cut = text.slice(0, most - 1);
  return `${cut.slice(0, Math.max(cut.lastIndexOf(' '), most / 2))} …`;
}

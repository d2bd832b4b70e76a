/**
 * A text cut to what a bounded place holds: whole sentences while they fit; where those leave more than half of it empty,
 * the words of the next while they fit, with an ellipsis that says so. What to do often stands in the second sentence.
 */
export function brief(text: string, most: number): string {
  if (text.length <= most) return text;
  let kept = '';
  for (const sentence of text.split(/(?<=[.!?])\s+/)) {
    const longer = kept === '' ? sentence : `${kept} ${sentence}`;
    if (longer.length > most) break;
    kept = longer;
  }
  if (kept.length > most / 2) return `${kept} …`;
  const cut = text.slice(0, most - 1);
  return `${cut.slice(0, Math.max(cut.lastIndexOf(' '), most / 2))} …`;
}

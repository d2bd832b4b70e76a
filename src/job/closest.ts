/** The known word nearest to what was written, when it is near enough to be a slip of the pen; else null. */
export function closest(written: string, known: readonly string[]): string | null {
  const from = written.toLowerCase();
  let best: string | null = null;
  let bestDistance = Math.max(1, Math.floor(from.length / 3)) + 1;
  for (const word of known) {
    if (Math.abs(word.length - from.length) >= bestDistance) continue;
    const distance = editDistance(from, word.toLowerCase());
    if (distance < bestDistance) {
      best = word;
      bestDistance = distance;
    }
  }
  return best;
}

/** Levenshtein distance with neighbouring swaps counted as one (optimal string alignment). */
function editDistance(a: string, b: string): number {
  const left = a.slice(0, 60);
  const right = b.slice(0, 60);
  let before: number[] = [];
  let previous = Array.from({ length: right.length + 1 }, (_, j) => j);
  for (let i = 1; i <= left.length; i++) {
    const row = [i];
    for (let j = 1; j <= right.length; j++) {
      const same = left[i - 1] === right[j - 1] ? 0 : 1;
      let least = Math.min(previous[j]! + 1, row[j - 1]! + 1, previous[j - 1]! + same);
      if (i > 1 && j > 1 && left[i - 1] === right[j - 2] && left[i - 2] === right[j - 1]) {
        least = Math.min(least, before[j - 2]! + 1);
      }
      row.push(least);
    }
    before = previous;
    previous = row;
  }
  return previous[right.length]!;
}

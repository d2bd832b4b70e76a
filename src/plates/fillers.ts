/** Fill of one gap with stock thicknesses. Lengths in metres. */
export interface Fill {
  /** Plies, thickest first; empty where nothing in stock fits. */
  readonly plies: readonly number[];
  /** Sum of the plies, m. */
  readonly thickness: number;
  /** Gap left, m; never negative: a fill is never thicker than the gap. */
  readonly left: number;
}

/**
 * The stack of at most `maxPlies` stock thicknesses that fills most of the gap without exceeding it;
 * of equal fills the one with fewer plies, then the one with the thickest first ply. Exhaustive over
 * stacks (stock lists are short), so it is never beaten by another stack.
 */
export function chooseFill(gap: number, stock: readonly number[], maxPlies: number): Fill {
  const sorted = [...stock].sort((a, b) => b - a);
  // A fill within a micrometre of the gap fits it: stock and gap come from the same decimal inches.
  const slack = 1e-6;
  let best: number[] = [];
  let most = 0;
  const search = (plies: number[], total: number, from: number): void => {
    const thicker = total > most + slack;
    const simpler = Math.abs(total - most) <= slack && plies.length < best.length;
    if (thicker || simpler) [best, most] = [plies, total];
    if (plies.length === maxPlies) return;
    for (let i = from; i < sorted.length; i++) {
      if (total + sorted[i]! <= gap + slack) search([...plies, sorted[i]!], total + sorted[i]!, i);
    }
  };
  search([], 0, 0);
  return { plies: best, thickness: most, left: Math.max(0, gap - most) };
}

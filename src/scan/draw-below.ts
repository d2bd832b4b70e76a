/**
 * Draws for thinning clouds and for trial planes: whole numbers from 0 below a count, the same for a seed in every run.
 * The linear congruential generator of Numerical Recipes (Press et al., 7.1, "quick and dirty"): what is drawn only
 * chooses among points of one kind.
 */
export function drawBelow(seed: number): (count: number) => number {
  // In a typed array: a captured number above 2^31 would be boxed anew at every draw.
  const state = new Uint32Array([seed]);
  return (count) => {
    state[0] = (Math.imul(state[0]!, 1664525) + 1013904223) | 0;
    return Math.floor((state[0]! / 4294967296) * count);
  };
}

import { createRandom } from '../../src/practice/random.ts';
/** Draws that are the same for a seed. */
export interface Dice {
  /** From 0 up to 1. */
  readonly share: () => number;
  /** 0 … n − 1 */
  readonly below: (n: number) => number;
  readonly chance: (p: number) => boolean;
  readonly pick: <T>(of: readonly T[]) => T;
}

/** Started from a text so that every case of every door has a sequence of its own. */
export function diceOf(seed: string): Dice {
  const share = createRandom(seed).uniform;
  const below = (n: number) => Math.floor(share() * n);
  return { share, below, chance: (p) => share() < p, pick: (of) => of[below(of.length)]! };
}

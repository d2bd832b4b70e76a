/** Draws that are the same for a seed. */
export interface Dice {
  /** From 0 up to 1. */
  readonly share: () => number;
  /** 0 … n − 1 */
  readonly below: (n: number) => number;
  readonly chance: (p: number) => boolean;
  readonly pick: <T>(of: readonly T[]) => T;
}

/** Mulberry32, started from a text so that every case of every door has a sequence of its own. */
export function diceOf(seed: string): Dice {
  let state = 0x811c9dc5;
  for (let i = 0; i < seed.length; i++) state = Math.imul(state ^ seed.charCodeAt(i), 0x01000193) >>> 0;
  const share = () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  const below = (n: number) => Math.floor(share() * n);
  return { share, below, chance: (p) => share() < p, pick: (of) => of[below(of.length)]! };
}

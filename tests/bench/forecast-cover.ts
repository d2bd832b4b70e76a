/**
 * Whether an 80 % interval of cycles left covers what came, where its upper end may be open ("may never").
 *
 * An open end cannot be missed late, so intervals that are open too often would seem to cover too much. By the convention of the randomized
 * probability integral transform (Smith 1985; Czado, Gneiting & Held 2009), what piles up at "never" is shared out: where the steel
 * never comes inside and the tool gave that a chance of p above 10 %, the upper 10 % of its belief lie within that p, and 0.1/p of
 * the case counts as missed late. A belief that is right then covers 80 % whatever share of its intervals is open.
 */
export function forecastCover(
  said: { readonly low: number | null; readonly high: number | null; readonly probability: number },
  trueLeft: number,
): { covered: number; early: boolean; late: number } {
  const early = said.low !== null && trueLeft < said.low;
  const never = trueLeft > HORIZON;
  const late =
    said.high !== null
      ? Number(trueLeft > said.high)
      : never
        ? Math.min(1, TAIL / Math.max(TAIL, 1 - said.probability))
        : 0;
  return { covered: early ? 0 : 1 - late, early, late: early ? 0 : late };
}

/** Cycles the tool looks ahead: what comes later is "never" to it. */
const HORIZON = 60;
const TAIL = 0.1;

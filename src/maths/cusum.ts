export interface Cusum {
  /** One-sided sums after each value: C⁺ = max(0, x − target − slack + C⁺), C⁻ likewise downwards. */
  readonly upper: readonly number[];
  readonly lower: readonly number[];
  /** First value at which a side passes the decision interval; null: none. */
  readonly signal: {
    readonly index: number;
    readonly side: 'upper' | 'lower';
    /** How many values in a row the sum had been above zero: the shift began about this long ago. */
    readonly run: number;
  } | null;
}

/**
 * Tabular cumulative sum (Page 1954; Montgomery, Introduction to Statistical Quality Control, 9.1.1).
 * It gathers small departures in one direction that no single value shows.
 *
 * @param values in time order
 * @param target the value they should have, same unit
 * @param slack K, half the shift worth noticing, same unit
 * @param interval H, the decision interval, same unit
 */
export function cusum(values: readonly number[], target: number, slack: number, interval: number): Cusum {
  const upper: number[] = [];
  const lower: number[] = [];
  let signal: Cusum['signal'] = null;
  let up = 0;
  let down = 0;
  let upRun = 0;
  let downRun = 0;
  values.forEach((value, index) => {
    up = Math.max(0, value - target - slack + up);
    down = Math.max(0, target - slack - value + down);
    upRun = up > 0 ? upRun + 1 : 0;
    downRun = down > 0 ? downRun + 1 : 0;
    upper.push(up);
    lower.push(down);
    if (signal === null && up > interval) signal = { index, side: 'upper', run: upRun };
    else if (signal === null && down > interval) signal = { index, side: 'lower', run: downRun };
  });
  return { upper, lower, signal };
}

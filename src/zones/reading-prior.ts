import { exp, log } from '../maths/portable.ts';

/** One reading in twenty goes wrong, and is then anywhere within a foot. */
const WRONG_SHARE = 1 / 20;
const WRONG_RANGE = 0.3;

/** Log posterior that calling a reading wrong costs (negative), against a residual of 0: about −7.3 at 1/16 in, 3.8 sd. */
export function logWrong(sd: number): number {
  return log(WRONG_SHARE / WRONG_RANGE) + log(sd * Math.sqrt(2 * Math.PI));
}

/** Sd of the log of a standard deviation known with `freedom` degrees of freedom: 1/√(2ν). */
function scaleSd(freedom: number): number {
  return 1 / Math.sqrt(2 * freedom);
}

/** Log density of the reading sd over the stated one before the readings: log-normal about 1. */
export function logScalePrior(scale: number, freedom: number): number {
  return -((log(scale) / scaleSd(freedom)) ** 2) / 2;
}

/**
 * Log of the scale that residuals and stated sd make likeliest together: `sum` of squared residuals over the
 * stated variance with `left` degrees of freedom. Newton on −left + sum/s² − log s/τ² = 0 in log s.
 */
export function likeliestLogScale(sum: number, left: number, freedom: number): number {
  const tau = scaleSd(freedom) ** 2;
  let log = 0;
  for (let pass = 0; pass < 50; pass++) {
    const ratio = sum * exp(-2 * log);
    const step = (-left + ratio - log / tau) / (2 * ratio + 1 / tau);
    log += Math.max(-0.5, Math.min(0.5, step));
    if (Math.abs(step) < 1e-9) break;
  }
  return log;
}

/**
 * True when the rule has set aside so many readings that it is the model or the scatter that is wrong, not they: a
 * fifth of them, and at least 4.
 */
export function tooMany(byHand: readonly boolean[], off: readonly boolean[]): boolean {
  let count = 0;
  for (let i = 0; i < off.length; i++) if (off[i] && !byHand[i]) count++;
  return count >= Math.max(4, 0.2 * off.length);
}

import type { Closure, SurveyFit } from '../analysis.ts';
import type { JobUnits } from '../job/job.ts';
import { normalQuantile } from '../maths/distributions.ts';
import { formatLength, formatUncertainty } from '../units/format-length.ts';

/** A tie station against the set-up and shape fitted to all readings, m; `reach`: the straight reach it lies on. */
export interface Tie {
  readonly station: number;
  readonly residual: number;
  readonly u: number;
  readonly reach: number;
}

/** Chance that a survey with nothing wrong is called out, over all its ties and runs of ties together. */
export const CLOSURE_LEVEL = 0.005;

/** A tie, or neighbouring ties of one reach, tested as one: first and past-last index. */
interface Run {
  readonly from: number;
  readonly to: number;
  readonly z: number;
}

/**
 * Do the tie stations still agree? Every tie alone, and every run of neighbours on one reach that lie off together
 * (a string end or a block that moved shifts several), sum of r/u over √m, all held to `CLOSURE_LEVEL` between them by
 * Bonferroni's inequality: |z| > Φ⁻¹(1 − level/(2·tests)). Residuals of a fit are, if anything, correlated
 * negatively, which makes runs less likely than the level says. On 29 simulated clean girders 1 survey of 261 was
 * called out; a fixed 3.3 u a tie had called out 4 of 270.
 */
export function closureOf(ties: readonly Tie[], units: JobUnits): Closure {
  if (ties.length === 0) return { agrees: true, ties: [], message: null };
  const limit = normalQuantile(1 - CLOSURE_LEVEL / (2 * countRuns(ties)));
  const named = plainestRuns(ties, limit);
  const judged = ties.map(({ station, residual, u }, i) => ({
    station,
    residual,
    u,
    off: named.some((run) => i >= run.from && i < run.to),
  }));
  if (named.length === 0)
    return {
      agrees: true,
      ties: judged,
      message: `${judged.length} tie stations agree within their uncertainty`,
    };
  return {
    agrees: false,
    ties: judged,
    message: `Tie stations disagree: ${named.map((run) => runText(run, ties, units)).join('; ')}. The string, an end of it or a block moved there, or they were misread (a clean survey is called out one time in ${Math.round(1 / CLOSURE_LEVEL)} at most, if the reading sd is right).`,
  };
}

/** First and past-last index of the ties on each reach. */
function reaches(ties: readonly Tie[]): (readonly [number, number])[] {
  const starts = ties.flatMap((tie, i) => (i === 0 || tie.reach !== ties[i - 1]!.reach ? [i] : []));
  return starts.map((from, k) => [from, starts[k + 1] ?? ties.length]);
}

function countRuns(ties: readonly Tie[]): number {
  return reaches(ties).reduce((sum, [from, to]) => sum + ((to - from) * (to - from + 1)) / 2, 0);
}

/**
 * The runs with |z| past the limit that share no tie with a plainer one: its neighbours are past the limit only because
 * they share its ties. In the order of the stations.
 *
 * A run is one of these where it is the plainest past the limit at every tie it has, so only the plainest run of each
 * tie is kept: a line read every inch has millions of runs.
 */
function plainestRuns(ties: readonly Tie[], limit: number): Run[] {
  const plainest: (Run | undefined)[] = new Array(ties.length);
  const sizes = new Float64Array(ties.length);
  const ratios = Float64Array.from(ties, ({ residual, u }) => residual / u);
  const roots = Float64Array.from({ length: ties.length + 1 }, (_, count) => Math.sqrt(count));
  const z = new Float64Array(ties.length);
  for (const [first, end] of reaches(ties)) {
    for (const from of suspectStarts(ties, first, end, limit)) {
      let sum = 0;
      for (let i = from; i < end; i++) {
        sum += ratios[i]!;
        z[i] = sum / roots[i + 1 - from]!;
      }
      // The plainest run from here that reaches past tie i; of equals the shorter one, as the first from here.
      let best: Run | undefined;
      let most = 0;
      for (let i = end - 1; i >= from; i--) {
        const size = Math.abs(z[i]!);
        if (size > limit && size >= most) {
          best = { from, to: i + 1, z: z[i]! };
          most = size;
        }
        if (most > sizes[i]!) {
          plainest[i] = best;
          sizes[i] = most;
        }
      }
    }
  }
  return [...new Set(plainest)].flatMap((run) => {
    if (run === undefined) return [];
    for (let i = run.from; i < run.to; i++) if (plainest[i] !== run) return [];
    return [run];
  });
}

/**
 * Where in a reach a run past the limit can start. Sums along the reach are compared with the highest and lowest that
 * follow after 2^k to 2^(k+1) ties, for each k: what cannot be past the limit there is not looked at run by run.
 */
function suspectStarts(ties: readonly Tie[], first: number, end: number, limit: number): number[] {
  const n = end - first;
  const sums = new Float64Array(n + 1);
  for (let i = 0; i < n; i++) sums[i + 1] = sums[i]! + ties[first + i]!.residual / ties[first + i]!.u;
  const suspect = new Array<boolean>(n).fill(false);
  const [high, low] = [sums.slice(), sums.slice()];
  for (let length = 1; length <= n; length *= 2) {
    // high[i] is now the highest of the sums i … i + length − 1, so far as there are any.
    const least = limit * Math.sqrt(length) * (1 - 1e-9);
    for (let i = 0; i + length <= n; i++) {
      if (high[i + length]! - sums[i]! >= least || sums[i]! - low[i + length]! >= least) suspect[i] = true;
    }
    for (let i = 0; i + length <= n; i++) {
      high[i] = Math.max(high[i]!, high[i + length]!);
      low[i] = Math.min(low[i]!, low[i + length]!);
    }
  }
  return suspect.flatMap((yes, i) => (yes ? [first + i] : []));
}

function runText(run: Run, ties: readonly Tie[], units: JobUnits): string {
  const inside = ties.slice(run.from, run.to);
  const { mean, u } = meanOf(inside);
  const at = (tie: Tie) => formatLength(tie.station, { units, as: 'station' });
  const off = `${formatLength(mean, { units, as: 'offset', sign: 'always', fraction: 32, digits: 1 })} (u ${formatUncertainty(u, units)})`;
  if (inside.length === 1) return `${at(inside[0]!)} alone is off by ${off}`;
  const where =
    run.from === 0 && run.to === ties.length
      ? 'the whole line'
      : run.from === 0
        ? 'the low-station end'
        : run.to === ties.length
          ? 'the high-station end'
          : 'part of the line, both ends agreeing';
  return `${at(inside[0]!)} to ${at(inside[inside.length - 1]!)} (${inside.length} ties, ${where}) are off together by ${off}`;
}

function meanOf(ties: readonly { readonly residual: number; readonly u: number }[]): {
  mean: number;
  u: number;
} {
  let weight = 0;
  let sum = 0;
  for (const tie of ties) {
    weight += 1 / tie.u ** 2;
    sum += tie.residual / tie.u ** 2;
  }
  return { mean: sum / weight, u: 1 / Math.sqrt(weight) };
}

/**
 * Adds to each survey that does not close whether the same stations lay so in the survey before it (same state): then
 * it is the steel's own edge, or the model, that is off there, not a string that moved since.
 */
export function compareClosures(fits: readonly SurveyFit[], units: JobUnits): SurveyFit[] {
  return fits.map((fit, i) => {
    if (fit.closure.agrees) return fit;
    const before = fits.slice(0, i).findLast((other) => other.state === fit.state);
    if (!before) return fit;
    const off = fit.closure.ties.filter((tie) => tie.off);
    // Ties off to either side would cancel: the sign they have now is what is looked for before.
    const signed = (ties: Closure['ties']) =>
      off.flatMap((tie) => {
        const same = ties.find((other) => Math.abs(other.station - tie.station) < 1e-6);
        return same ? [{ residual: Math.sign(tie.residual) * same.residual, u: same.u }] : [];
      });
    const then = signed(before.closure.ties);
    if (then.length < off.length) return fit;
    const [now, earlier] = [meanOf(signed(fit.closure.ties)), meanOf(then)];
    const changeU = Math.sqrt(now.u ** 2 + earlier.u ** 2);
    const changed = now.mean - earlier.mean > 2 * changeU;
    const stood = earlier.mean > 2 * earlier.u;
    const said = (value: number) =>
      formatLength(value, { units, as: 'offset', sign: 'always', fraction: 32, digits: 1 });
    const text =
      stood && !changed
        ? `They lay the same way in cycle ${before.cycle}: more likely the edge itself (a step, a splice, a dent) than the string.`
        : changed && !stood
          ? `In cycle ${before.cycle} they agreed: this moved since, by ${said(now.mean - earlier.mean)} on average (u ${formatUncertainty(changeU, units)}).`
          : `Whether they lay so in cycle ${before.cycle} cannot be told.`;
    return { ...fit, closure: { ...fit.closure, message: `${fit.closure.message} ${text}` } };
  });
}

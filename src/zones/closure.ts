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
  const runs = runsOf(ties);
  const limit = normalQuantile(1 - CLOSURE_LEVEL / (2 * runs.length));
  const past = runs.filter((run) => Math.abs(run.z) > limit).sort((a, b) => Math.abs(b.z) - Math.abs(a.z));
  // The plainest of those that overlap: its neighbours are past the limit only because they share its ties.
  const named = past
    .filter((run, i) => !past.slice(0, i).some((other) => run.from < other.to && other.from < run.to))
    .sort((a, b) => a.from - b.from);
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

function runsOf(ties: readonly Tie[]): Run[] {
  const runs: Run[] = [];
  for (let from = 0; from < ties.length; from++) {
    let sum = 0;
    for (let to = from + 1; to <= ties.length && ties[to - 1]!.reach === ties[from]!.reach; to++) {
      const tie = ties[to - 1]!;
      sum += tie.residual / tie.u;
      runs.push({ from, to, z: sum / Math.sqrt(to - from) });
    }
  }
  return runs;
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

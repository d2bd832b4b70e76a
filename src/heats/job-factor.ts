import { EXPECTED } from '../maths/coverage-level.ts';
import { tQuantile } from '../maths/t-quantile.ts';
import type { ZoneHeats } from './zone-heats.ts';

/** What vee heats of this job have done of what the published formula expects, in the present regime of each zone. */
export interface JobFactor {
  /** Observed over expected. */
  readonly value: number;
  /** 80 % interval. */
  readonly low: number;
  readonly high: number;
  readonly vees: number;
}

/** Fewer steps show no scatter worth an interval. */
const LEAST_STEPS = 3;

/**
 * Σ observed / Σ expected over the zones' steps with logged vees; scatter from step to step grows with what a step
 * expects, and Student's t is taken on (steps − 1) degrees of freedom. Neighbouring steps share a survey, whose error
 * moves them in opposite ways and cancels in the sum, so the interval errs on the wide side. Null with fewer than three
 * steps.
 */
export function jobFactor(zones: readonly ZoneHeats[]): JobFactor | null {
  const steps = zones.flatMap((zone) =>
    zone.steps.flatMap((s) =>
      s.expected !== null && s.expected > 0 && s.fromCycle >= (zone.sinceCycle ?? 0)
        ? [{ observed: s.observed, expected: s.expected, vees: s.vees }]
        : [],
    ),
  );
  if (steps.length < LEAST_STEPS) return null;
  const expected = steps.reduce((sum, s) => sum + s.expected, 0);
  const value = steps.reduce((sum, s) => sum + s.observed, 0) / expected;
  const scatter2 =
    steps.reduce((sum, s) => sum + (s.observed - value * s.expected) ** 2 / s.expected, 0) /
    (steps.length - 1);
  const half = tQuantile((1 + EXPECTED.level) / 2, steps.length - 1) * Math.sqrt(scatter2 / expected);
  return {
    value,
    low: value - half,
    high: value + half,
    vees: steps.reduce((sum, s) => sum + s.vees, 0),
  };
}

import type { Job } from '../src/job/job.ts';
import { planOf } from '../src/job/plan-fields.ts';

/** What a job has beside its member, lines and rules where nobody asked for more: nothing. */
export const NOTHING_MORE = {
  repairs: [],
  jacks: [],
  claim: null,
  plan: planOf(undefined),
  currency: null,
  locale: 'en-US',
  plates: [],
  restraint: null,
  heating: {
    temperature: null,
    veeAngle: null,
    veeDepth: null,
    shapeFactor: null,
    axialFactor: null,
    limits: null,
  },
} as const satisfies Partial<Job>;

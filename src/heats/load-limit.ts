import { InputError } from '../input-error.ts';
import type { Cited, Importance } from '../job/job.ts';

/** Largest share of the plastic moment that jacking may use, with where it comes from. */
export interface LoadLimit {
  /** Jacking moment over plastic moment at ambient temperature. */
  readonly fraction: number;
  readonly source: string;
}

/**
 * The only built-in fraction: primary members, Mj ≤ 0.50 Mp at ambient temperature, from memory of
 * FHWA-IF-08-999 and Avent & Mukai. For every other importance the published values are only faintly
 * remembered, so the job must state the fraction and cite where it comes from.
 */
const PRIMARY: LoadLimit = {
  fraction: 0.5,
  source: 'primary member, from memory of FHWA-IF-08-999',
};

/** @throws InputError when the job must state and cite a fraction and does not */
export function loadLimit(importance: Importance, stated: Cited | null): LoadLimit {
  if (stated !== null) return { fraction: stated.value, source: stated.source };
  if (importance === 'primary') return PRIMARY;
  throw new InputError('job.json cannot be used for a jacking limit', [
    {
      file: 'job.json',
      column: 'restraint.fraction',
      found: `none, for importance "${importance}"`,
      expected:
        'a fraction of the plastic moment and its source, e.g. "fraction": 0.33, "fractionSource": "owner\'s special provision, clause …" (only "primary" has a built-in limit)',
    },
  ]);
}

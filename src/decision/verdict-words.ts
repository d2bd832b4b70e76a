import type { Progress, Verdict } from '../analysis.ts';

/** How a verdict is said, for every screen: large over an answer, short beside a line's name, and in a zone's row of a table. */
interface Words {
  readonly large: string;
  readonly short: string;
  readonly zone: string;
}

const WORDS: Record<Verdict, Words> = {
  'not-enough-readings': {
    large: 'Not enough readings yet',
    short: 'not enough readings',
    zone: 'too few readings',
  },
  progressing: { large: 'Straightening is working', short: 'still closing', zone: 'closing' },
  slow: { large: 'Still moving, but slowly', short: 'closing slowly', zone: 'slow' },
  undecided: { large: 'Cannot tell yet', short: 'cannot tell yet', zone: 'cannot tell' },
  stalled: { large: 'Stalled', short: 'stalled', zone: 'stalled' },
  regressing: { large: 'Going the wrong way', short: 'going the wrong way', zone: 'wrong way' },
  'within-tolerance': { large: 'Within tolerance', short: 'inside its limits', zone: 'straight enough' },
  overcorrected: { large: 'Overcorrected', short: 'overcorrected', zone: 'overcorrected' },
};

type Judged = Pick<Progress, 'verdict' | 'untouched'>;

/** Of a line or the member; a line no heat has acted on is not called stalled. */
export function verdictWords({ verdict, untouched }: Judged): string {
  return untouched ? 'Stands as it was found' : WORDS[verdict].large;
}

/** The same after the line's name, in the middle of a sentence. */
export function shortVerdict({ verdict, untouched }: Judged): string {
  return untouched ? 'stands as it was found' : WORDS[verdict].short;
}

export function zoneVerdict(verdict: Verdict): string {
  return WORDS[verdict].zone;
}

import { EXPECTED, levelText } from '../maths/coverage-level.ts';
import type { Calibration, Hindsight, Hindsights } from './hindsight.ts';

/** Fewest jobs from which more is said than the counts: below it chance alone gives nearly anything. */
const FEWEST = 5;
/** Chance below which what came is held to be more than chance. */
const CHANCE = 0.05;

/** How forecasts of finished jobs came out, for somebody who has to decide how far to trust the next one. */
export function checkRows(told: readonly Hindsight[], table: readonly Calibration[]): string[][] {
  return table.map(({ at, of, jobs, error }) => {
    const { below, inside, above } = countsOf(told, at, of);
    return [of, whenText(at), `${jobs}`, `${below}`, `${inside}`, `${above}`, `${Math.round(100 * error)} %`];
  });
}

export const CHECK_HEADINGS = [
  'forecast of',
  'made',
  'jobs',
  'ended below the range',
  'in it',
  'above it',
  'middle off by, typically',
] as const;

/** What the counts mean, a sentence each. */
export function checkSentences({ told, table, cutShort, oneLine }: Hindsights): string[] {
  const first = (of: Hindsight['of']) => table.find((row) => row.at === 0 && row.of === of);
  return [
    ...(['days', 'cost', 'cycles'] as const).flatMap((of) => {
      const row = first(of);
      return row === undefined ? [] : [sentence(row, countsOf(told, 0, of))];
    }),
    'Each job was forecast from the others and from what it was as found; at a third and two thirds of its cycles also from its own readings up to then.',
    ...(cutShort === 0
      ? []
      : [
          `${jobs(cutShort)} stopped or replaced before the girder was done ${cutShort === 1 ? 'teaches the others and is' : 'teach the others and are'} not counted here: how long the work would have taken nobody knows.`,
        ]),
    ...(oneLine === 0
      ? []
      : [
          `${jobs(oneLine)} ${oneLine === 1 ? 'is' : 'are'} forecast by the line that was furthest out alone, because the ${oneLine === 1 ? 'record does' : 'records do'} not say whether there were others: where there were, the forecast comes out short.`,
        ]),
  ];
}

function jobs(count: number): string {
  return count === 1 ? 'One job' : `${count} jobs`;
}

interface Counts {
  readonly below: number;
  readonly inside: number;
  readonly above: number;
}

/** Ends counted in, as a reader of a range counts. */
function countsOf(told: readonly Hindsight[], at: number, of: Hindsight['of']): Counts {
  const mine = told.filter((each) => each.at === at && each.of === of);
  const below = mine.filter(({ actual, low }) => actual < low).length;
  const above = mine.filter(({ actual, high }) => actual > high).length;
  return { below, above, inside: mine.length - below - above };
}

function whenText(at: number): string {
  return at === 0 ? 'before the first heat' : at < 0.5 ? 'at a third' : 'at two thirds';
}

function sentence({ of, jobs, error }: Calibration, { below, inside, above }: Counts): string {
  const { level } = EXPECTED;
  const off = `the middle was typically off by ${Math.round(100 * error)} %`;
  const said = `${OF[of]} before the first heat: ${inside} of ${jobs} ended in the range given, which is to hold about ${Math.round(level * jobs)} (${levelText(EXPECTED)}); ${off}.`;
  if (jobs < FEWEST) return `${said} So few jobs do not say how far to trust it.`;
  // Of whole days and cycles a range with its ends holds a little more than it claims, so only too few in it is a fault.
  if (tail(jobs, inside, level) < CHANCE) {
    const side =
      above > 2 * below
        ? ` Jobs came out longer or dearer than forecast: allow for more than the range says.`
        : below > 2 * above
          ? ` Jobs came out shorter or cheaper than forecast.`
          : '';
    return `${said} That is fewer than chance explains: the ranges are too narrow for these jobs.${side}`;
  }
  if (tail(below + above, Math.min(below, above), 0.5) < CHANCE / 2)
    return `${said} As many as chance allows, but nearly all the others lie ${above > below ? 'above' : 'below'} it: read the range as leaning that way.`;
  return `${said} That is what chance allows: the range can be trusted as far as ${jobs} jobs can show it.`;
}

const OF: Readonly<Record<Hindsight['of'], string>> = {
  days: 'Working days',
  cost: 'Cost',
  cycles: 'Cycles',
};

/** Chance of so few or fewer of n, each with chance p: the binomial distribution. */
export function tail(n: number, k: number, p: number): number {
  let [sum, term] = [0, (1 - p) ** n];
  for (let i = 0; i <= Math.min(k, n); i++) {
    sum += term;
    term *= ((n - i) / (i + 1)) * (p / (1 - p));
  }
  return Math.min(1, sum);
}

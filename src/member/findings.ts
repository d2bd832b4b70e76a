import type { LineAnalysis } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { Job, JobUnits } from '../job/job.ts';
import { formatLength, formatUncertainty } from '../units/format-length.ts';
import { type Cause, type CheckName, crossChecks, type Disagreement } from './cross-checks.ts';
import { heldFindings } from './held-parts.ts';
import { linesOfSection } from './lines-of-section.ts';

/** Lines that do not describe one section, and lines and panels that do not go with what holds the steel. */
export function memberFindings(
  lines: readonly LineAnalysis[],
  job: Pick<Job, 'member' | 'units'>,
): Finding[] {
  return [...disagreements(lines, job), ...heldFindings(lines, job)];
}

/** With the likely cause and what to check; one finding a cause. */
function disagreements(lines: readonly LineAnalysis[], job: Pick<Job, 'member' | 'units'>): Finding[] {
  const placed = linesOfSection(lines);
  const ends = placed.placed.bottomSweep?.item.line.bearings ?? null;
  const all = crossChecks(placed, job);
  // A plumb whose positive side is said wrong contradicts every line it is held against: said once.
  const turned = all.some(({ check, cause }) => check === 'sweep-plumb' && cause === 'other-side');
  const found = all.filter(({ check }) => !turned || check === 'sweep-plumb');
  const key = (one: Disagreement) =>
    [one.check, one.cause, one.cause === 'misread' ? one.station.toFixed(2) : ''].join(' ');
  const last = new Map(found.map((one) => [key(one), one]));
  return [...last.values()].map((one): Finding => {
    const earlier = found
      .filter((other) => other !== one && key(other) === key(one))
      .map(({ cycle }) => cycle);
    return {
      severity: 'caution',
      code: `lines-disagree-${one.cause}`,
      message: `${difference(one, likely(one, ends, earlier.length > 0, job), job.units)}${alsoIn(earlier)}`,
      line: one.suspect ?? one.lines[0],
      cycle: one.cycle,
      station: one.station,
    };
  });
}

const SAY: Readonly<Record<CheckName, (says: string, expected: string, since: boolean) => string>> = {
  'sweep-plumb': (says, expected, since) =>
    since
      ? `the bottom flange has moved ${says} since as found, and by the lean of the web ${expected}`
      : `the bottom flange is ${says} out, and by the lean of the web it would be ${expected}`,
  'tilt-plumb': (says, expected) =>
    `the flange reads ${says} out of level, and turned with the web it would read about ${expected}`,
  'camber-lift': (says, expected) =>
    `the bottom flange stands ${says} up, and by the lean of the web alone it would be lifted ${expected}`,
};

/** The cause first: a crowded sheet shows only the first sentence. */
function difference(one: Disagreement, { cause, todo }: Likely, units: JobUnits): string {
  const length = (metres: number) => formatLength(metres, { units, as: 'offset', sign: 'always' });
  const at = formatLength(one.station, { units, as: 'station', digits: 2 });
  const says = SAY[one.check](length(one.says), length(one.expected), one.since);
  return `Cycle ${one.cycle}: ${one.lines[0]} and ${one.lines[1]} do not describe one section at ${at}: ${cause}. ${todo} There ${says}: ${length(one.size)} ± ${formatUncertainty(2 * one.u, units)} of it is more than doubt (k = ${one.k.toFixed(1)}).`;
}

function alsoIn(earlier: readonly number[]): string {
  if (earlier.length === 0) return '';
  return ` So it was in cycle${earlier.length === 1 ? '' : 's'} ${earlier.join(', ')}.`;
}

interface Likely {
  readonly cause: string;
  readonly todo: string;
}

function likely(
  one: Disagreement,
  ends: readonly [number, number] | null,
  before: boolean,
  { units, member }: Pick<Job, 'member' | 'units'>,
): Likely {
  const [first, second] = one.lines;
  const suspect = one.suspect ?? first;
  const end = () =>
    ends === null
      ? 'one end'
      : `its end at ${formatLength(endOf(one, ends), { units, as: 'station', digits: 2 })}`;
  const causes: Readonly<Record<Cause, () => Likely>> = {
    misread: () =>
      before
        ? {
            cause: 'the same place in more than one cycle is seldom a slip',
            todo: `Look at the steel there (a fold in the web, a bent edge), then at ${suspect}.`,
          }
        : {
            cause: `likely ${suspect} was misread at that one place`,
            todo: `Read it there again${one.check === 'tilt-plumb' ? '; else the edge of the flange is bent there by itself' : ''}.`,
          },
    'string-end': () => ({
      cause: `likely the string of ${first} moved at ${end()} while it was read`,
      todo: `The difference grows toward that end: look at the block and read ${first} again; else the web leaned so before the blow.`,
    }),
    zero: () => ({
      cause: 'likely the level or plumb has lost its zero or was set on another face',
      todo: 'The difference is alike all along: turn the level end for end and read one station again; else the member leaned so before the blow.',
    }),
    'top-flange': () =>
      member.deck === 'composite'
        ? {
            cause:
              'likely the plumb was not hung over the whole depth, for the job says a deck holds the top flange',
            todo: 'The difference goes with the bow: say over what height the web was read; else the deck has let go of the flange, so run a line along it.',
          }
        : {
            cause: 'likely the top flange moved too, or the plumb was not hung over the whole depth',
            todo: 'The difference goes with the bow: run a line along the top flange, or say over what height the web was read.',
          },
    'flange-by-itself': () => ({
      cause: 'likely the flange is turned by itself against the web, which folds near it',
      todo: 'The difference goes with the bow: sight along the web just above the flange.',
    }),
    'other-side': () => ({
      cause: `likely "positive" of ${first} or ${second} says the other side`,
      todo: `One reads plus where the other reads minus: correct it in job.json${one.check === 'tilt-plumb' ? '; else the flange is twisted against the lean' : ''}.`,
    }),
    'below-lift': () => ({
      cause: 'likely the level was misread along the bend or set on another edge',
      todo: 'Read it there again; else the flange is pushed down as well as aside.',
    }),
  };
  return causes[one.cause]();
}

function endOf(one: Disagreement, [from, to]: readonly [number, number]): number {
  return Math.abs(one.station - from) < Math.abs(one.station - to) ? from : to;
}

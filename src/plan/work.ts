import type { Analysis, LineAnalysis, Verdict } from '../analysis.ts';
import type { HeatsOfJob } from '../heats/heats-of-job.ts';
import { limitOnReadings } from '../job/rules.ts';
import { partOf } from '../member/lines-of-section.ts';
import type { PlannedZone } from './forward.ts';

/**
 * What ends the work on a line and how its cycles are counted: `readings` (as the status forecasts them), `vees` (its zones
 * worked off with planned vees), `bulge` (closed by a share of it a cycle), `along` (straightened by heats counted with another
 * line), `plates`, `done` (inside its limits).
 */
export type LineBasis = 'readings' | 'vees' | 'bulge' | 'along' | 'plates' | 'done';

export interface LineWork {
  readonly entry: LineAnalysis;
  readonly basis: LineBasis;
  readonly limit: number;
  /** Largest deviation at which work stops, m: the limit less what measurement leaves uncertain. */
  readonly aim: number;
  /** In multiples of its limit. */
  readonly outside: number;
  /** Lines of one part of the member are straightened by the same heats. */
  readonly part: string;
  /** Of `vees`; empty otherwise. */
  readonly zones: readonly PlannedZone[];
  /** Of `vees`: the largest Mj/Mp that its vees are reckoned with; 0 otherwise. */
  readonly loadRatio: number;
  /** Of `along`: the line it goes with; null otherwise. */
  readonly with: string | null;
}

export type WorkResult =
  | {
      /** Every line that counts, furthest outside first. */
      readonly lines: readonly LineWork[];
      /** Lines left out, each with why, in words. */
      readonly leftOut: readonly string[];
      readonly refused: null;
    }
  | { readonly refused: { readonly reason: string; readonly needed: string } };

/** Words of the readings beside which no plan of further heats can stand, and what would have to come first. */
const NEEDED: Partial<Record<Verdict, string>> = {
  stalled:
    'the cause found and changed (temperature reached, place of the vees, restraint) and readings that show it moving again; or the plates that end the heating (plates, plan.days.plating), which are then planned',
  regressing:
    'the line read again, jacks off and steel cooled, closing again, and the engineer’s word on why it opened',
  overcorrected:
    'the line read again, jacks off and steel cooled, and the engineer’s word on heats to the other side or on leaving it',
};

/** What has to be done on every line of the job until all are inside their limits. */
export function workOfJob(analysis: Analysis, heats: HeatsOfJob): WorkResult {
  const leftOut: string[] = [];
  const limited = analysis.lines.flatMap((entry) => {
    const { name } = entry.line;
    const last = entry.progress.series.at(-1);
    if (last === undefined) {
      leftOut.push(`${name} has not been read with jacks off and steel cooled: what it needs is not in it.`);
      return [];
    }
    const limit = tightestLimit(entry);
    if (limit === null) {
      leftOut.push(`No limit is set on ${name}: what it needs is not in it.`);
      return [];
    }
    return [{ entry, limit, aim: Math.max(limit / 2, limit - 2 * last.u), outside: last.value / limit }];
  });
  if (limited.length === 0) return refuse(...nothingToPlan(analysis));
  const able = [...limited].sort((a, b) => b.outside - a.outside);
  for (const { entry } of able) {
    const { verdict, untouched } = entry.progress;
    const needed = NEEDED[verdict];
    if (needed === undefined || untouched || (verdict === 'stalled' && platesGiven(analysis, entry)))
      continue;
    return refuse(
      `the readings of ${entry.line.name} say "${verdict}": days reckoned from vees would contradict them (see status)`,
      needed,
    );
  }
  const lines: LineWork[] = [];
  for (const { entry, ...rest } of able) {
    const { line } = entry;
    const part = partOf(entry);
    const put = (basis: LineBasis, more: Partial<Pick<LineWork, 'zones' | 'loadRatio' | 'with'>> = {}) =>
      lines.push({ entry, ...rest, basis, part, zones: [], loadRatio: 0, with: null, ...more });
    const own = basisOfReadings(entry);
    if (own !== null) {
      put(own);
      continue;
    }
    const { untouched } = entry.progress;
    // Heats are counted by the line of a part that is furthest outside: the same heats bring the others in.
    const carrier = lines.find((each) => each.part === part && HEATED.includes(each.basis));
    if (carrier !== undefined && !untouched) {
      put('along', { with: carrier.entry.line.name });
      continue;
    }
    if (line.kind === 'bulge') {
      put('bulge');
      continue;
    }
    if (line.kind === 'sweep' || line.kind === 'camber') {
      const zones = plannedZones(entry, heats);
      if (zones === null)
        return refuse(
          `what one vee turns cannot be said for ${line.name}`,
          'the temperature of the heats or the steel, and how the member is held (restraint)',
        );
      put('vees', { zones, loadRatio: loadRatioOf(entry, heats) });
      continue;
    }
    if (untouched) {
      leftOut.push(
        `${line.name} is outside its limit and no heat so far acts on it: what it needs is not in it.`,
      );
      continue;
    }
    // A lean of web or flange comes back with the sweep of its flange; it may be further outside than that, so look at all.
    const flange = able
      .filter(({ entry: other }) => other.line.kind === 'sweep' && stillHeated(other))
      .sort((a, b) => Number(partOf(b.entry) === part) - Number(partOf(a.entry) === part))[0];
    if (flange === undefined)
      return refuse(
        `what one heat turns cannot be said for ${line.name}, and no sweep line outside its limit takes it along`,
        'three readings of it, jacks off and steel cooled: then its own pace counts',
      );
    put('along', { with: flange.entry.line.name });
  }
  return { lines, leftOut, refused: null };
}

const HEATED: readonly LineBasis[] = ['readings', 'vees'];

/** What the readings say of a line by themselves; null: nothing yet. */
function basisOfReadings({ progress }: LineAnalysis): 'readings' | 'plates' | 'done' | null {
  if (progress.verdict === 'within-tolerance') return 'done';
  if (progress.verdict === 'stalled' && !progress.untouched) return 'plates';
  return progress.series.length > 2 && progress.cyclesLeft !== null ? 'readings' : null;
}

function stillHeated(entry: LineAnalysis): boolean {
  const basis = basisOfReadings(entry);
  return basis === null || basis === 'readings';
}

function nothingToPlan(analysis: Analysis): [string, string] {
  const read = analysis.lines.filter(({ progress }) => progress.series.length > 0);
  if (analysis.lines.length === 0)
    return ['no line of the job has been read', 'the as-found readings of one'];
  if (read.length === 0)
    return [
      `${analysis.lines[0]!.line.name} has no survey that can be judged`,
      'one read with jacks off and steel cooled',
    ];
  const names = read.map(({ line }) => line.name).join(', ');
  return [`no limit is set on ${names}: a plan needs to know when work stops`, 'a limit under acceptance'];
}

function refuse(reason: string, needed: string): WorkResult {
  return { refused: { reason, needed } };
}

/** Whether the job says enough of plates to plan with them: where they go, or how many days they take. */
function platesGiven({ job }: Analysis, entry: LineAnalysis): boolean {
  return job.plates.some((plate) => plate.line === entry.line.name) || (job.plan.days.plating ?? 0) > 0;
}

/** Limit on the whole line; where there are only others, the smallest of them. */
function tightestLimit({ acceptance }: LineAnalysis): number | null {
  const whole = acceptance.filter((result) => result.rule.over.kind === 'whole-line');
  const of = whole.length > 0 ? whole : acceptance;
  return of.length === 0 ? null : Math.min(...of.map(({ rule }) => limitOnReadings(rule)));
}

function plannedZones(entry: LineAnalysis, heats: HeatsOfJob): PlannedZone[] | null {
  const mine = heats.zones.filter((zone) => zone.line === entry.line.name);
  if (mine.length === 0 || mine.some((zone) => zone.planned === null || zone.planned <= 0)) return null;
  return mine.map((zone) => ({
    station: zone.station,
    rotation: zone.sense * zone.remaining,
    rotationU: zone.remainingU,
    expectedVee: zone.planned!,
  }));
}

function loadRatioOf({ line }: LineAnalysis, { zones }: HeatsOfJob): number {
  return Math.max(
    0,
    ...zones.filter((zone) => zone.line === line.name).map((zone) => zone.plannedLoadRatio ?? 0),
  );
}

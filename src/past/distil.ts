import type { Analysis, LineAnalysis, Verdict } from '../analysis.ts';
import { currencyDigits } from '../costs/money.ts';
import type { CostSums } from '../costs/sums.ts';
import type { HeatsOfJob } from '../heats/heats-of-job.ts';
import { partOf } from '../member/lines-of-section.ts';
import type { PastRecord, PastRecordNow } from './record.ts';

export interface DistilInput {
  readonly analysis: Analysis;
  readonly heats: HeatsOfJob;
  readonly costs: CostSums;
  /** The word after each cycle of the line that took longest. */
  readonly verdicts: readonly { readonly cycle: number; readonly verdict: Verdict }[];
  readonly outcome: PastRecord['outcome'];
  readonly crewJobs: number | null;
}

/** A finished job as one record; what was not recorded stays null, nothing is guessed. No names of people are in it. */
export function distil(input: DistilInput): PastRecordNow {
  const { analysis, heats, costs } = input;
  const { job } = analysis;
  const read = analysis.lines.filter(({ progress }) => progress.series.length > 0);
  const first = furthest(read);
  const cycles = cyclesOf(read);
  const veesByCycle = heats.quantities.cycles.map(
    ({ byPattern }) => byPattern.find(({ pattern }) => pattern === 'vee')?.heats ?? 0,
  );
  const logged = heats.quantities.heats > 0;
  return {
    schema: 'sweepbook/past/2',
    job: job.name.slice(0, 120),
    finished: costs.days.all.at(-1) ?? first?.fit.surveys.at(-1)?.date ?? null,
    units: job.units,
    spans: [job.member.span],
    section: {
      flangeWidth: job.member.flangeWidth,
      flangeThickness: job.member.flangeThickness,
      webThickness: job.member.webThickness,
      depth: job.member.depth,
      yieldStress: job.member.yieldStress,
      steel: job.member.steel,
    },
    damage: foundOn(first, input),
    largestByCycle: byCycle(first),
    beside: read
      .filter((entry) => entry !== first)
      .map((entry) => ({
        ...foundOn(entry, input),
        kind: entry.line.kind,
        largestByCycle: byCycle(entry),
      })),
    veeCycles: logged ? veesByCycle.filter((count) => count > 0).length : null,
    cycles: cycles.length === 0 ? null : cycles.at(-1)! - cycles[0]!,
    vees: logged ? veesByCycle.reduce((sum, count) => sum + count, 0) : null,
    ratio: ratioOf(heats.zones),
    deadCycles: first?.progress.pattern == null ? null : deadCycles(read, first, job.usefulGain),
    days: {
      ...Object.fromEntries(costs.days.byWork.map(({ work, dates }) => [work, dates.length])),
      ...(costs.days.all.length === 0 ? {} : { all: costs.days.all.length }),
    },
    gas:
      heats.quantities.gas === null || heats.quantities.gasUnit === null
        ? null
        : { amount: heats.quantities.gas, unit: heats.quantities.gasUnit },
    cost:
      costs.total === 0 || costs.currency === null
        ? null
        : {
            currency: costs.currency,
            total: major(costs.total, costs.currency),
            byKind: Object.fromEntries(
              costs.byKind.map(({ of, amount }) => [of, major(amount, costs.currency)]),
            ),
          },
    crewJobs: input.crewJobs ?? job.plan.crewJobs,
    outcome: input.outcome,
    verdicts: [...input.verdicts],
  };
}

function foundOn(entry: LineAnalysis | null, { analysis, heats }: DistilInput): PastRecordNow['damage'] {
  if (entry === null)
    return { line: null, kind: null, part: null, heatedCycles: null, largest: 0, limit: null, zones: [] };
  const { line, fit, progress } = entry;
  const zones = heats.zones.filter((zone) => zone.line === line.name);
  return {
    line: line.name.slice(0, 120),
    kind: line.kind,
    part: partOf(entry).slice(0, 120),
    heatedCycles: heatedCycles(entry, analysis, heats),
    largest: progress.series[0]!.value,
    limit: limitOf(entry),
    zones: fit.zones
      .filter((zone) => zone.class === 'plastic')
      .map((zone) => {
        const heated = zones.find((each) => each.zone === zone.zone);
        return {
          rotation: Math.abs(zone.rotation),
          strainRatio: zone.strainRatio.peak,
          station: zone.core.centre,
          vees: heated?.total == null || heats.quantities.heats === 0 ? null : heated.total.vees,
          expectedVee: heated?.planned ?? null,
        };
      }),
  };
}

/** Cycles with heats on a line; null where the log is empty or some of its heats are on nobody knows which. */
function heatedCycles({ line }: LineAnalysis, analysis: Analysis, { made }: HeatsOfJob): number | null {
  const only = analysis.lines.length === 1;
  const nameOf = (each: HeatsOfJob['made'][number]) =>
    each.line?.name ?? each.heat.line ?? (only ? line.name : null);
  if (made.length === 0 || made.some((each) => nameOf(each) === null)) return null;
  return new Set(made.filter((each) => nameOf(each) === line.name).map(({ heat }) => heat.cycle)).size;
}

function byCycle(entry: LineAnalysis | null): PastRecordNow['largestByCycle'] {
  return (entry?.progress.series ?? []).map(({ cycle, value }) => ({ cycle, largest: value }));
}

/** Every cycle in which any of the lines was read, increasing. */
function cyclesOf(lines: readonly LineAnalysis[]): number[] {
  return [...new Set(lines.flatMap(({ progress }) => progress.series.map(({ cycle }) => cycle)))].sort(
    (a, b) => a - b,
  );
}

function major(minor: number, currency: string | null): number {
  return minor / 10 ** currencyDigits(currency);
}

/** The sweep or camber line that was furthest out as found; without one, whatever was. */
function furthest(lines: readonly LineAnalysis[]): LineAnalysis | null {
  const able = lines.filter(({ line }) => line.kind === 'sweep' || line.kind === 'camber');
  const found = (entry: LineAnalysis) => entry.progress.series[0]!.value;
  return (able.length > 0 ? able : lines).reduce<LineAnalysis | null>(
    (a, b) => (a === null || found(b) > found(a) ? b : a),
    null,
  );
}

function limitOf(entry: LineAnalysis | null): number | null {
  const limits = entry?.acceptance.map((result) => result.limit) ?? [];
  return limits.length === 0 ? null : Math.min(...limits);
}

/**
 * Cycles in which the line that was furthest out closed by less than the useful gain, unless the crew was at another: a line
 * that closed by the useful gain and by more than readings scatter says that the steel moved.
 */
function deadCycles(lines: readonly LineAnalysis[], first: LineAnalysis, usefulGain: number): number {
  return first.progress.series.slice(1).filter((now, i) => {
    if (first.progress.series[i]!.value - now.value >= usefulGain) return false;
    return !lines.some((entry) => entry !== first && closedIn(entry, now.cycle, usefulGain));
  }).length;
}

function closedIn({ progress }: LineAnalysis, cycle: number, usefulGain: number): boolean {
  const at = progress.series.findIndex((each) => each.cycle === cycle);
  if (at < 1) return false;
  const [before, now] = [progress.series[at - 1]!, progress.series[at]!];
  return before.value - now.value >= Math.max(usefulGain, 2 * Math.sqrt(before.u ** 2 + now.u ** 2));
}

function ratioOf(zones: HeatsOfJob['zones']): PastRecord['ratio'] {
  const known = zones.flatMap(({ total }) =>
    total?.expected == null
      ? []
      : [{ observed: total.observed, observedU: total.observedU, expected: total.expected }],
  );
  const expected = known.reduce((sum, each) => sum + each.expected, 0);
  const observed = known.reduce((sum, each) => sum + each.observed, 0);
  if (expected <= 0 || observed <= 0) return null;
  const u = Math.sqrt(known.reduce((sum, each) => sum + each.observedU ** 2, 0)) / expected;
  return { value: observed / expected, u };
}

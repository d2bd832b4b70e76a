import type { Analysis, LineAnalysis, Verdict } from '../analysis.ts';
import { currencyDigits } from '../costs/money.ts';
import type { CostSums } from '../costs/sums.ts';
import type { HeatsOfJob } from '../heats/heats-of-job.ts';
import type { PastRecord } from './record.ts';

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
export function distil(input: DistilInput): PastRecord {
  const { analysis, heats, costs } = input;
  const { job } = analysis;
  const entry = longestLine(analysis);
  const series = entry?.progress.series ?? [];
  const zones = heats.zones.filter((zone) => zone.line === entry?.line.name);
  const vees = heats.quantities.cycles.reduce(
    (sum, cycle) => sum + (cycle.byPattern.find((each) => each.pattern === 'vee')?.heats ?? 0),
    0,
  );
  const cycles = series.length === 0 ? null : series.at(-1)!.cycle - series[0]!.cycle;
  return {
    schema: 'sweepbook/past/1',
    job: job.name.slice(0, 120),
    finished: costs.days.all.at(-1) ?? entry?.fit.surveys.at(-1)?.date ?? null,
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
    damage: {
      largest: series[0]?.value ?? 0,
      limit: limitOf(entry),
      zones: (entry?.fit.zones ?? [])
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
    },
    largestByCycle: series.map(({ cycle, value }) => ({ cycle, largest: value })),
    cycles,
    vees: heats.quantities.heats === 0 ? null : vees,
    ratio: ratioOf(zones),
    deadCycles: entry?.progress.pattern == null ? null : deadCycles(series, job.usefulGain),
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

function major(minor: number, currency: string | null): number {
  return minor / 10 ** currencyDigits(currency);
}

/** The sweep or camber line that was furthest out as found. */
function longestLine(analysis: Analysis): LineAnalysis | null {
  const able = analysis.lines.filter(({ line }) => line.kind === 'sweep' || line.kind === 'camber');
  const found = (entry: LineAnalysis) => entry.progress.series[0]?.value ?? 0;
  return able.reduce<LineAnalysis | null>((a, b) => (a === null || found(b) > found(a) ? b : a), null);
}

function limitOf(entry: LineAnalysis | null): number | null {
  const limits = entry?.acceptance.map((result) => result.limit) ?? [];
  return limits.length === 0 ? null : Math.min(...limits);
}

/** Cycles that closed by less than the useful gain. */
function deadCycles(series: readonly { readonly value: number }[], usefulGain: number): number {
  return series.slice(1).filter((now, i) => series[i]!.value - now.value < usefulGain).length;
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

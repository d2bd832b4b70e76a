import type { HeatLog, Pattern } from './heat-log.ts';

interface CycleQuantities {
  readonly cycle: number;
  readonly heats: number;
  readonly byPattern: readonly { readonly pattern: Pattern; readonly heats: number }[];
  /** Distinct dates logged, ISO, increasing. */
  readonly dates: readonly string[];
  /** Sum of what was logged; null where nothing was. */
  readonly gas: number | null;
  readonly cost: number | null;
}

/** `2 lines, 5 spots`. */
export function patternsText(byPattern: CycleQuantities['byPattern']): string {
  return byPattern.map(({ heats, pattern }) => `${heats} ${pattern}${heats === 1 ? '' : 's'}`).join(', ');
}

/** Work done, by cycle and in all. Sums of logged figures: they carry no uncertainty. */
export interface HeatQuantities {
  readonly cycles: readonly CycleQuantities[];
  readonly heats: number;
  /** Distinct dates in the whole log; null where some heats carry no date. */
  readonly workingDays: number | null;
  readonly gas: number | null;
  readonly gasUnit: string | null;
  readonly cost: number | null;
  readonly currency: string | null;
  /** What is missing from the sums, in words; empty when nothing is. */
  readonly gaps: readonly string[];
}

export function heatQuantities(log: HeatLog): HeatQuantities {
  const { heats } = log;
  const numbers = [...new Set(heats.map((h) => h.cycle))].sort((a, b) => a - b);
  const cycles = numbers.map((cycle): CycleQuantities => {
    const mine = heats.filter((h) => h.cycle === cycle);
    const patterns = [...new Set(mine.map((h) => h.pattern))].sort();
    return {
      cycle,
      heats: mine.length,
      byPattern: patterns.map((pattern) => ({
        pattern,
        heats: mine.filter((h) => h.pattern === pattern).length,
      })),
      dates: distinct(mine.map((h) => h.date)),
      gas: total(mine.map((h) => h.gas)),
      cost: total(mine.map((h) => h.cost)),
    };
  });
  const undated = heats.filter((h) => h.date === null).length;
  const gaps = (['gas', 'cost'] as const).flatMap((what) => {
    const without = heats.filter((h) => h[what] === null).length;
    return without > 0 && without < heats.length
      ? [`${without} of ${heats.length} heats have no ${what} logged`]
      : [];
  });
  if (undated > 0 && heats.length > 0) gaps.push(`${undated} of ${heats.length} heats have no date`);
  return {
    cycles,
    heats: heats.length,
    workingDays: heats.length === 0 || undated > 0 ? null : distinct(heats.map((h) => h.date)).length,
    gas: total(heats.map((h) => h.gas)),
    gasUnit: log.gasUnit,
    cost: total(heats.map((h) => h.cost)),
    currency: log.currency,
    gaps,
  };
}

function distinct(values: readonly (string | null)[]): string[] {
  return [...new Set(values.filter((v) => v !== null))].sort();
}

function total(values: readonly (number | null)[]): number | null {
  const known = values.filter((v) => v !== null);
  // To the thousandth: sums of cents and tenths of a pound otherwise show binary rounding.
  return known.length === 0 ? null : Math.round(known.reduce((sum, v) => sum + v, 0) * 1000) / 1000;
}

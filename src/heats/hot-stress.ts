import type { Job } from '../job/job.ts';
import type { HeatLimits } from './heat-limits.ts';
import type { JobRestraint } from './restraint-of-job.ts';
import { modulusRatio, yieldRatio } from './temperature-functions.ts';
import { FORMULA_TEMPERATURE } from './vee-rotation.ts';

/** Stress at the edge of the heated part against the yield stress of the hot steel, Pa. */
export interface HotStress {
  /** Where it is largest, m. */
  readonly station: number;
  readonly deadLoad: number;
  readonly composite: boolean;
  readonly source: string;
  readonly jacking: number;
  /** Where it acts as the jacks do; 0 where it does not or is not known. */
  readonly lockedIn: number;
  readonly total: number;
  /** Temperature it is checked at, °C, at most 1200 °F where the published functions end, and Fy(T) there. */
  readonly temperature: number;
  readonly hotYield: number;
  /** E(T)/E there: the share of a locked-in stress that steel this hot all through would keep. */
  readonly modulusRatio: number;
  /** Temperature at which the steel yields at `total`, °C; null where it does not up to 1200 °F, or does so cold. */
  readonly yieldsAt: number | null;
}

/**
 * Dead load as the engineer states it, jacks at the ceiling and what the blow left, as elastic stress at the edge of
 * the part that bends, against Fy(T) (from memory of FHWA-IF-08-999, chapter 4). The published condition is that
 * stresses of external forces stay below the yield stress of the heated steel (Avent and Mukai). Only the steel under
 * the torch is that hot, so the comparison is on the safe side. Null where the job states no dead load stress.
 */
export function hotStress(job: Job, limits: HeatLimits, restraint: JobRestraint | null): HotStress | null {
  const deadLoad = job.restraint?.deadLoad ?? null;
  const planned = job.heating.temperature ?? limits.maxTemperature?.value ?? null;
  if (restraint === null || deadLoad === null || planned === null) return null;
  const modulus = restraint.part.elasticModulus;
  if (restraint.ceiling === null || modulus === null) return null;
  const stresses = restraint.diagram.map((point) => {
    const same = point.share * restraint.ceiling!.plasticMoment - Math.abs(point.jacking);
    return {
      station: point.station,
      jacking: Math.abs(point.jacking) / modulus,
      lockedIn: Math.max(0, same) / modulus,
    };
  });
  const worst = stresses.reduce((a, b) => (b.jacking + b.lockedIn > a.jacking + a.lockedIn ? b : a));
  const total = Math.abs(deadLoad.stress) + worst.jacking + worst.lockedIn;
  const temperature = Math.min(planned, FORMULA_TEMPERATURE);
  const { yieldStress } = job.member;
  return {
    ...worst,
    deadLoad: deadLoad.stress,
    composite: deadLoad.composite,
    source: deadLoad.source,
    total,
    temperature,
    hotYield: yieldStress * yieldRatio(temperature),
    modulusRatio: modulusRatio(temperature),
    yieldsAt: temperatureOfYield(total / yieldStress),
  };
}

/** °C at which Fy(T)/Fy falls to this ratio, by halving: Fy(T) only falls. */
function temperatureOfYield(ratio: number): number | null {
  let [low, high] = [20, FORMULA_TEMPERATURE];
  if (ratio >= yieldRatio(low) || ratio <= yieldRatio(high)) return null;
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (yieldRatio(middle) > ratio) low = middle;
    else high = middle;
  }
  return low;
}

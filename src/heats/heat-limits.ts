import type { Cited, StatedHeatLimits } from '../job/job.ts';
import { INCH } from '../units/factors.ts';
import { temperatureLimit } from './temperature-limit.ts';

export interface Range {
  readonly low: number;
  readonly high: number;
  readonly source: string;
}

/** Limits a heat log is checked against, SI. */
export interface HeatLimits {
  /** Highest steel temperature, °C; null where the grade's published values conflict and the job states none. */
  readonly maxTemperature: Cited | null;
  /** Steel cools below this before the next heat and before reading, °C. */
  readonly coolBelow: Cited;
  /** Included angle, rad. */
  readonly veeAngle: Range;
  /** Depth over the width of the heated element. */
  readonly veeDepth: Range;
  /** Open-end width, m. */
  readonly openWidth: Range;
  /** Between vees heated at the same time, m. */
  readonly spacing: Cited;
  /** Damage or repair events one place may have, this one included. */
  readonly repairs: Cited;
}

const DEGREE = Math.PI / 180;

/**
 * Limits in force: the job's own where it states them, else the published ones with their sources.
 * `flangeWidth` in m.
 */
export function heatLimits(
  steel: string | null,
  flangeWidth: number,
  stated: StatedHeatLimits | null,
): HeatLimits {
  const limit = (value: number | null | undefined): Cited | null =>
    value === null || value === undefined ? null : { value, source: stated!.source };
  const range = (pair: readonly [number, number] | null | undefined): Range | null =>
    pair === null || pair === undefined ? null : { low: pair[0], high: pair[1], source: stated!.source };
  return {
    maxTemperature: limit(stated?.maxTemperature) ?? temperatureLimit(steel),
    coolBelow: limit(stated?.coolBelow) ?? {
      value: (250 - 32) / 1.8,
      source: 'state form 0388 (07/19)',
    },
    veeAngle: range(stated?.veeAngle) ?? {
      low: 20 * DEGREE,
      high: 60 * DEGREE,
      source: 'from memory of FHWA-IF-08-999; some owners allow less, state form 0388 no more than 20°',
    },
    veeDepth: range(stated?.veeDepth) ?? {
      low: 0.75,
      high: 1,
      source:
        'three quarters of the element’s width or more, from memory of FHWA-IF-08-999; one owner, SPD 4-100, allows half',
    },
    openWidth: range(stated?.openWidth) ?? {
      low: 3 * INCH,
      high: 10 * INCH,
      source: '“Repair of Damaged Steel Beams”, SPD 4-100',
    },
    spacing: limit(stated?.spacing) ?? {
      value: Math.max(12 * INCH, flangeWidth),
      source: '12 in by SPD 4-100, and the element’s width from memory of FHWA-IF-08-999',
    },
    repairs: limit(stated?.repairs) ?? {
      value: 2,
      source:
        'two repairs of one place: Avent and others on repeated damage and repair; as a rule from memory of FHWA-IF-08-999',
    },
  };
}

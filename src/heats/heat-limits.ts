import type { Cited, Job, StatedHeatLimits } from '../job/job.ts';
import { INCH } from '../units/factors.ts';
import { LEAST_USEFUL, temperatureLimit, temperedCeiling } from './temperature-limit.ts';

export interface Range {
  /** 0: no least value is set. */
  readonly low: number;
  readonly high: number;
  readonly source: string;
}

/** Limits a heat log is checked against and every proposal keeps to, SI. */
export interface HeatLimits {
  /** Highest steel temperature, °C; null where the grade's published values conflict and the job states none. */
  readonly maxTemperature: Cited | null;
  /** Below this a heat does nothing, °C. */
  readonly minTemperature: Cited;
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
  /** Of heats on a bulge; null where neither the job nor a preset states one, since none is built in. */
  readonly bulge: BulgeLimits;
}

export interface BulgeLimits {
  /** Diameter of a spot heat, m. */
  readonly spotDiameter: Range | null;
  /** Between centres of spots, and between lines, m. */
  readonly spotSpacing: Cited | null;
  readonly lineSpacing: Cited | null;
  /** Most heats on one panel in one cycle. */
  readonly spotsPerCycle: Cited | null;
  readonly linesPerCycle: Cited | null;
}

const DEGREE = Math.PI / 180;

type Quantity =
  | 'maxTemperature'
  | 'minTemperature'
  | 'coolBelow'
  | 'spacing'
  | 'repairs'
  | 'spotSpacing'
  | 'lineSpacing'
  | 'spotsPerCycle'
  | 'linesPerCycle';
type Pair = 'veeAngle' | 'veeDepth' | 'openWidth' | 'spotDiameter';

/**
 * Limits in force: the strictest of the job's own and those of its presets, else the published ones with their
 * sources. A quantity that a preset or the job speaks of takes nothing from the general literature, so that an owner
 * who allows half the flange is not asked for three quarters of it; the temperature of a steel that is quenched and
 * tempered, or that no set speaks of, stays the grade's. `flangeWidth` in m.
 */
export function heatLimits(
  steel: string | null,
  flangeWidth: number,
  stated: StatedHeatLimits | null,
  presets: readonly StatedHeatLimits[] = [],
): HeatLimits {
  const sets = stated === null ? presets : [stated, ...presets];
  const all = (name: Quantity): Cited[] =>
    sets.flatMap((set) => {
      const value = set[name];
      return value === null || value === undefined ? [] : [{ value, source: set.source }];
    });
  const least = (cited: readonly Cited[]): Cited | null =>
    cited.length === 0 ? null : cited.reduce((a, b) => (b.value < a.value ? b : a));
  const most = (cited: readonly Cited[]): Cited | null =>
    cited.length === 0 ? null : cited.reduce((a, b) => (b.value > a.value ? b : a));
  const range = (name: Pair): Range | null => {
    const given = sets.flatMap((set) => (set[name] == null ? [] : [{ pair: set[name], source: set.source }]));
    if (given.length === 0) return null;
    return {
      low: Math.max(...given.map(({ pair }) => pair[0])),
      high: Math.min(...given.map(({ pair }) => pair[1])),
      source: given.map(({ source }) => source).join('; '),
    };
  };
  return {
    maxTemperature: highest(steel, stated, all('maxTemperature')),
    minTemperature: most(all('minTemperature')) ?? LEAST_USEFUL,
    coolBelow: least(all('coolBelow')) ?? {
      value: (250 - 32) / 1.8,
      source: 'state form 0388 (07/19)',
    },
    veeAngle: range('veeAngle') ?? {
      low: 20 * DEGREE,
      high: 60 * DEGREE,
      source: 'from memory of FHWA-IF-08-999; some owners allow less, state form 0388 no more than 20°',
    },
    veeDepth: range('veeDepth') ?? {
      low: 0.75,
      high: 1,
      source:
        'three quarters of the element’s width or more, from memory of FHWA-IF-08-999; one owner, SPD 4-100, allows half',
    },
    openWidth: range('openWidth') ?? {
      low: 3 * INCH,
      high: 10 * INCH,
      source: '“Repair of Damaged Steel Beams”, SPD 4-100',
    },
    spacing: most(all('spacing')) ?? {
      value: Math.max(12 * INCH, flangeWidth),
      source: '12 in by SPD 4-100, and the element’s width from memory of FHWA-IF-08-999',
    },
    repairs: least(all('repairs')) ?? {
      value: 2,
      source:
        'two repairs of one place: Avent and others on repeated damage and repair; as a rule from memory of FHWA-IF-08-999',
    },
    bulge: {
      spotDiameter: range('spotDiameter'),
      spotSpacing: most(all('spotSpacing')),
      lineSpacing: most(all('lineSpacing')),
      spotsPerCycle: least(all('spotsPerCycle')),
      linesPerCycle: least(all('linesPerCycle')),
    },
  };

  function highest(
    grade: string | null,
    own: StatedHeatLimits | null,
    given: readonly Cited[],
  ): Cited | null {
    const said = own?.maxTemperature ?? null;
    const published = temperatureLimit(grade);
    // Where published values conflict, no set that is not for this steel settles it: the engineer does.
    if (said === null && published === null) return null;
    const ofSteel = said === null ? published : temperedCeiling(grade);
    return least(ofSteel === null ? given : [...given, ofSteel]);
  }
}

/** Limits in force of a job. */
export function heatLimitsOf(job: Job): HeatLimits {
  const { steel, flangeWidth } = job.member;
  return heatLimits(steel, flangeWidth, job.heating.limits, job.heating.presetLimits ?? []);
}

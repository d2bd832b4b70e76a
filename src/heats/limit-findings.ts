import type { Finding } from '../finding.ts';
import type { Job, StatedHeatLimits } from '../job/job.ts';
import { formatLimit } from '../units/format-length.ts';
import { formatAngle, formatStress, formatTemperature } from '../units/format-quantity.ts';
import type { HeatLimits, Range } from './heat-limits.ts';
import { limitTemperature } from './limit-text.ts';
import type { PlannedVee } from './planned-vee.ts';
import { steelGrade } from './steel-grade.ts';
import { temperedCeiling } from './temperature-limit.ts';

/** What the job plans or states against the limits in force, and its yield stress against its grade. */
export function limitFindings(job: Job, limits: HeatLimits, plan: PlannedVee): Finding[] {
  return [
    ...conflicts(job).map(
      (conflict): Finding => ({
        severity: 'stop',
        code: 'heat-limits-conflict',
        message: `${conflict}. The stricter one is used here; the engineer must settle which is in force before any heat.`,
      }),
    ),
    ...plannedTemperatureFindings(job, limits),
    ...plannedVeeFindings(job, limits, plan),
    ...yieldFindings(job),
  ];
}

/** `20° to 60°`, or `at most 20°` where no least value is set. */
export function rangeText({ low, high }: Range, say: (value: number) => string, scale = 1): string {
  return low <= 0 ? `at most ${say(high * scale)}` : `${say(low * scale)} to ${say(high * scale)}`;
}

const SENSE = {
  maxTemperature: { name: 'steel temperature', looser: 'above' },
  minTemperature: { name: 'least steel temperature', looser: 'below' },
  coolBelow: { name: 'temperature to cool below', looser: 'above' },
  spacing: { name: 'spacing of vees', looser: 'below' },
  repairs: { name: 'number of repairs', looser: 'above' },
} as const;
const PAIRS = { veeAngle: 'vee angle', veeDepth: 'vee depth', openWidth: 'open end' } as const;

/** Limits the job states for itself that are looser than a chosen set or than the steel bears. */
function conflicts(job: Job): string[] {
  const own = job.heating.limits;
  const tempered = temperedCeiling(job.member.steel);
  const sets = job.heating.presetLimits ?? [];
  const found: string[] = [];
  if (own !== null) for (const set of sets) found.push(...looserThan(own, set, job));
  const said = own?.maxTemperature ?? null;
  if (said !== null && tempered !== null && said > tempered.value + 0.01)
    found.push(
      `heating.limits allows ${formatTemperature(said, job.units)} (${own!.source}), above the ${limitTemperature(tempered.value, job.units)} of ${tempered.source}`,
    );
  return found;
}

function looserThan(own: StatedHeatLimits, set: StatedHeatLimits, job: Job): string[] {
  const found: string[] = [];
  for (const [key, { name, looser }] of Object.entries(SENSE)) {
    const [mine, theirs] = [own[key as keyof typeof SENSE], set[key as keyof typeof SENSE]];
    if (mine == null || theirs == null) continue;
    if (looser === 'above' ? mine > theirs * 1.000001 : mine < theirs * 0.999999)
      found.push(
        `heating.limits (${own.source}) is looser than the preset in ${name}: ${say(key, mine, job)} against ${say(key, theirs, job)} (${set.source})`,
      );
  }
  for (const [key, name] of Object.entries(PAIRS)) {
    const [mine, theirs] = [own[key as keyof typeof PAIRS], set[key as keyof typeof PAIRS]];
    if (mine == null || theirs == null) continue;
    const apart = mine[0] > theirs[1] || mine[1] < theirs[0];
    if (apart || mine[0] < theirs[0] * 0.999999 || mine[1] > theirs[1] * 1.000001)
      found.push(
        `heating.limits (${own.source}) is looser than the preset in ${name}: ${pair(key, mine, job)} against ${pair(key, theirs, job)} (${set.source})`,
      );
  }
  return found;
}

function pair(key: string, [low, high]: readonly [number, number], job: Job): string {
  return rangeText({ low, high, source: '' }, (value) => say(key, value, job));
}

function say(key: string, value: number, job: Job): string {
  if (/emperature|coolBelow/.test(key)) return formatTemperature(value, job.units);
  if (key === 'veeAngle') return formatAngle(value, 0);
  if (key === 'veeDepth') return `${Number((value * 100).toFixed(1))} % of the flange width`;
  return key === 'repairs' ? String(value) : formatLimit(value, job.units);
}

function plannedTemperatureFindings(job: Job, limits: HeatLimits): Finding[] {
  const planned = job.heating.temperature;
  if (planned === null) return [];
  const { maxTemperature: high, minTemperature: low } = limits;
  const temperature = formatTemperature(planned, job.units);
  if (high !== null && planned > high.value + 0.01)
    return [
      {
        severity: 'stop',
        code: 'planned-temperature-outside-limits',
        message: `heating.temperature plans ${temperature}, above the limit of ${limitTemperature(high.value, job.units)} (${high.source}). What is expected here is worked out at the limit; do not heat before the plan is changed.`,
      },
    ];
  if (planned >= low.value - 0.01) return [];
  return [
    {
      severity: 'caution',
      code: 'planned-temperature-too-low',
      message: `heating.temperature plans ${temperature}; below about ${formatTemperature(low.value, job.units)} a heat does nothing (${low.source}).`,
    },
  ];
}

function plannedVeeFindings(job: Job, limits: HeatLimits, plan: PlannedVee): Finding[] {
  if (plan.fits) return [];
  const small = (metres: number) => formatLimit(metres, job.units);
  const wanted = [
    `angle ${rangeText(limits.veeAngle, (value) => formatAngle(value, 0))} (${limits.veeAngle.source})`,
    `depth ${rangeText(limits.veeDepth, small, job.member.flangeWidth)} (${limits.veeDepth.source})`,
    `open end ${rangeText(limits.openWidth, small)} (${limits.openWidth.source})`,
  ].join('; ');
  const stated = job.heating.veeAngle !== null || job.heating.veeDepth !== null;
  return [
    {
      severity: 'stop',
      code: 'planned-vee-outside-limits',
      message: `${stated ? 'The planned vee (heating.veeAngle, heating.veeDepth) is outside the limits in force' : 'No vee meets all the limits in force'}: ${wanted}. No vees are proposed; the engineer must settle it.`,
    },
  ];
}

/** A yield stress this much off every value of the grade is another steel's. */
const SAME_YIELD = 0.02;

function yieldFindings(job: Job): Finding[] {
  const { steel, yieldStress, yieldSource } = job.member;
  const { yields } = steelGrade(steel);
  if (yields.length === 0 || yields.some((each) => Math.abs(yieldStress / each - 1) <= SAME_YIELD)) return [];
  const own = formatStress(yieldStress, job.units);
  const grades = yields.map((each) => formatStress(each, job.units)).join(', ');
  const above = yieldStress > Math.max(...yields);
  const message = `The job states a yield stress of ${own}, but "${steel}" has ${grades} at the least (from memory of its specification)`;
  if (yieldSource !== undefined)
    return [
      {
        severity: 'note',
        code: 'yield-not-of-grade',
        message: `${message}; the job cites ${yieldSource} for it.`,
      },
    ];
  return [
    {
      severity: above ? 'stop' : 'caution',
      code: 'yield-not-of-grade',
      message: `${message}. ${above ? 'Jacking ceilings worked out from the higher value would be too high. ' : ''}Correct one of the two, or say where the value comes from (member.yieldSource).`,
    },
  ];
}

import type { Job } from '../job/job.ts';
import { atan } from '../maths/portable.ts';
import type { HeatLimits } from './heat-limits.ts';
import { type JobRestraint, loadRatioAt } from './restraint-of-job.ts';
import {
  expectedRotation,
  FORMULA_TEMPERATURE,
  openWidth,
  perfectRestraintRotation,
} from './vee-rotation.ts';

const DEGREE = Math.PI / 180;
/** Usual vee angle, from memory of FHWA-IF-08-999. */
const USUAL_ANGLE = 45 * DEGREE;

export interface PlannedVee {
  /** rad, m, m */
  readonly angle: number;
  readonly depth: number;
  readonly openWidth: number;
  readonly how: string;
  /** False where no vee meets the limits in force, or the job plans one that does not: nothing may then be proposed. */
  readonly fits: boolean;
}

/**
 * The vee of the job's plan, or one that fits the limits in force: as deep as they allow, and the angle nearest 45°,
 * in whole degrees, whose open end they allow; shallower only where the open end would be too wide.
 */
export function plannedVee(job: Job, limits: HeatLimits): PlannedVee {
  const { veeAngle, veeDepth } = job.heating;
  const [chosenDepth, chosenAngle] = fittingVee(job.member.flangeWidth, limits, veeDepth);
  const depth = veeDepth ?? chosenDepth;
  const angle = veeAngle ?? chosenAngle;
  const vee = { angle, depth, openWidth: openWidth(angle, depth) };
  const stated = veeAngle !== null || veeDepth !== null;
  return {
    ...vee,
    how: stated
      ? 'as the job plans it'
      : 'chosen inside the limits: full depth allowed, 45° or as wide as the open end may be',
    fits: fits(vee, limits, job.member.flangeWidth),
  };
}

/** Depth and angle inside the limits where there are any; else the nearest, which does not fit. */
function fittingVee(element: number, limits: HeatLimits, stated: number | null): [number, number] {
  const { veeAngle, veeDepth, openWidth: open } = limits;
  const deepest = stated ?? veeDepth.high * element;
  // Too wide at the least angle: a shallower vee opens less.
  const shallower = veeAngle.low > 0 ? open.high / openWidth(veeAngle.low, 1) : deepest;
  const depth = stated ?? Math.min(deepest, Math.max(shallower, veeDepth.low * element));
  const least = Math.max(veeAngle.low, 2 * atan(open.low / (2 * depth)));
  const most = Math.min(veeAngle.high, 2 * atan(open.high / (2 * depth)));
  const wanted = Math.min(most, Math.max(least, USUAL_ANGLE));
  const down = Math.floor(wanted / DEGREE + 1e-9) * DEGREE;
  if (down >= least * (1 - 1e-9)) return [depth, down];
  const up = Math.ceil(wanted / DEGREE - 1e-9) * DEGREE;
  return [depth, up <= most ? up : wanted];
}

function fits(
  vee: Pick<PlannedVee, 'angle' | 'depth' | 'openWidth'>,
  { veeAngle, veeDepth, openWidth: open }: HeatLimits,
  element: number,
): boolean {
  const inside = (value: number, low: number, high: number) =>
    value >= low * (1 - 1e-6) && value <= high * (1 + 1e-6);
  return (
    inside(vee.angle, veeAngle.low, veeAngle.high) &&
    inside(vee.depth, veeDepth.low * element, veeDepth.high * element) &&
    inside(vee.openWidth, open.low, open.high)
  );
}

export interface VeeExpectation {
  /** rad */
  readonly rotation: number;
  readonly loadRatio: number;
  /** Most a vee can turn without jacking, rad. */
  readonly bound: number;
  /** What was taken for want of a logged value, in words. */
  readonly assumed: readonly string[];
}

/**
 * Expected rotation of one vee at a station, with whatever is not logged taken from the plan and named. Above
 * 1200 °F the value at 1200 °F is used: the published formula ends there.
 */
export function expectVee(
  job: Job,
  limits: HeatLimits,
  restraint: JobRestraint | null,
  vee: {
    readonly station: number;
    readonly angle: number | null;
    readonly temperature: number | null;
    readonly pressure: number | null;
    /** −1 where the jacks bend this place further the wrong way. */
    readonly jacks: 1 | -1;
  },
): VeeExpectation | null {
  const assumed: string[] = [];
  const angle = vee.angle ?? plannedVee(job, limits).angle;
  if (vee.angle === null) assumed.push('vee angle as planned');
  const temperature = vee.temperature ?? plannedTemperature(job, limits);
  if (temperature === null) return null;
  if (vee.temperature === null) assumed.push('temperature as planned');
  let pressure = vee.pressure;
  if (pressure === null) {
    pressure = restraint?.ceiling?.pressure ?? 0;
    assumed.push(pressure > 0 ? 'jacks at the ceiling' : 'no jacking');
  } else if (pressure > 0 && restraint === null) {
    pressure = 0;
    assumed.push('no jacking, because the job does not say how this line is held and pushed');
  }
  const loadRatio = restraint === null ? 0 : Math.abs(loadRatioAt(job, restraint, pressure, vee.station));
  // The published factor is for jacks that help; nothing is expected of a heat that works against them.
  if (vee.jacks < 0 && loadRatio > 0) return null;
  const { yieldStress, elasticModulus } = job.member;
  const used = Math.min(temperature, FORMULA_TEMPERATURE);
  return {
    rotation: expectedRotation(
      {
        angle,
        temperature: used,
        loadRatio,
        shapeFactor: job.heating.shapeFactor?.value ?? 1,
        axialFactor: job.heating.axialFactor?.value ?? 1,
      },
      yieldStress,
      elasticModulus,
    ),
    loadRatio,
    bound: perfectRestraintRotation(angle, used, yieldStress, elasticModulus),
    assumed,
  };
}

/** Planned steel temperature, °C: the job's, never above the limit in force; null where no limit is known. */
export function plannedTemperature(job: Job, limits: HeatLimits): number | null {
  if (limits.maxTemperature === null) return null;
  return Math.min(job.heating.temperature ?? limits.maxTemperature.value, limits.maxTemperature.value);
}

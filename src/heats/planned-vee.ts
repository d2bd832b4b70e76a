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
}

/**
 * The vee of the job's plan, or one that fits the limits: as deep as they allow and 45° or the widest angle
 * whose open end they allow, in whole degrees.
 */
export function plannedVee(job: Job, limits: HeatLimits): PlannedVee {
  const depth = job.heating.veeDepth ?? limits.veeDepth.high * job.member.flangeWidth;
  const widest = 2 * atan(limits.openWidth.high / (2 * depth));
  const fitting = Math.min(USUAL_ANGLE, limits.veeAngle.high, widest);
  const angle = job.heating.veeAngle ?? Math.floor(fitting / DEGREE + 1e-9) * DEGREE;
  const stated = job.heating.veeAngle !== null || job.heating.veeDepth !== null;
  return {
    angle,
    depth,
    openWidth: openWidth(angle, depth),
    how: stated
      ? 'as the job plans it'
      : 'chosen inside the limits: full depth allowed, 45° or as wide as the open end may be',
  };
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
  const temperature = vee.temperature ?? job.heating.temperature ?? limits.maxTemperature?.value ?? null;
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

import type { Zone } from '../analysis.ts';
import type { BentStretch } from './stretch.ts';

/** One-sided 95 % of the normal distribution: how sure a bend must be to be called one. */
export const SURE = 1.645;

/** What is said of one bent stretch; rotations are total (elastic and plastic). */
export interface Bend {
  readonly stretch: BentStretch;
  readonly rotation: number;
  readonly rotationU: number;
  readonly from: number;
  readonly to: number;
  readonly fromU: number;
  readonly toU: number;
  readonly core: Zone['core'];
  /** ln of the largest curvature over yield curvature. */
  readonly logPeak: number;
  readonly logPeakU: number;
}

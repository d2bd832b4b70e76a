import type { LineAnalysis } from '../analysis.ts';
import { placeOf } from './lines-of-section.ts';

/** Share of the shorter line that two lines must have in common to be of the same steel. */
const SAME_STEEL = 0.5;

/**
 * Whether two lines read the same steel of the same flange, such as its near and its far edge: a bend found on both is one
 * bend, and a heat in it acts on both. Lines over different spans do not.
 */
export function sameFlange(one: LineAnalysis, other: LineAnalysis): boolean {
  const place = placeOf(one);
  if (place !== placeOf(other) || (place !== 'bottomSweep' && place !== 'topSweep')) return false;
  const [a, b] = one.line.bearings;
  const [c, d] = other.line.bearings;
  return Math.min(b, d) - Math.max(a, c) > SAME_STEEL * Math.min(b - a, d - c);
}

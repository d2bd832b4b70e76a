/**
 * Bending of jacks pushing across a member, for the set-ups a crew uses. Formulas of the single spans: AISC Manual
 * Table 3-23 (from memory of it; they follow from statics for `simple` and `cantilever`, and from zero end rotation
 * for `fixed`).
 */
import { type BeamSupport, type Bending, continuousBeam, type PushingForce } from './continuous-beam.ts';

export type { PushingForce } from './continuous-beam.ts';

/** One length held at its ends. */
export interface SpanSetUp {
  readonly kind: 'simple' | 'fixed' | 'cantilever';
  /** Stations of the two supports, m, increasing. For a cantilever the member is held at `from`… */
  readonly from: number;
  /** …and free at `to` (which may be on either side of `from`). */
  readonly to: number;
}

/** A flange or member that runs on over several supports. */
export interface ContinuousSetUp {
  readonly kind: 'continuous';
  /** Outermost supports, m. */
  readonly from: number;
  readonly to: number;
  /** Two or more, increasing stations. */
  readonly supports: readonly BeamSupport[];
}

export type SetUpGeometry = SpanSetUp | ContinuousSetUp;

export interface GoverningMoment {
  /** Largest |moment| anywhere between the supports, force unit × m. */
  readonly moment: number;
  /** Station where it acts, m. */
  readonly station: number;
}

/**
 * Bending of all forces acting together.
 *
 * @throws RangeError when a force lies outside the supports
 */
export function bendingOf(setUp: SetUpGeometry, forces: readonly PushingForce[]): Bending {
  if (setUp.kind === 'continuous') return continuousBeam(setUp.supports, forces);
  const [low, high] = [Math.min(setUp.from, setUp.to), Math.max(setUp.from, setUp.to)];
  for (const { station } of forces) {
    if (!(station >= low && station <= high)) {
      throw new RangeError(`force at ${station} m, expected between the supports at ${low} m and ${high} m`);
    }
  }
  const sum = (of: (station: number) => number) =>
    forces.reduce((total, f) => total + f.force * of(f.station), 0);
  return {
    momentAt: (at) => (at < low || at > high ? 0 : sum((force) => unitMoment(setUp, force, at))),
    reactions:
      setUp.kind === 'cantilever'
        ? [{ station: setUp.from, force: sum(() => 1) }]
        : [
            { station: setUp.from, force: sum((force) => 1 - shareAtEnd(setUp, force)) },
            { station: setUp.to, force: sum((force) => shareAtEnd(setUp, force)) },
          ],
  };
}

/** Stations between which the moment is straight: supports and forces, m, increasing. */
export function kinksOf(setUp: SetUpGeometry, forces: readonly PushingForce[]): number[] {
  const supports =
    setUp.kind === 'continuous' ? setUp.supports.map((s) => s.station) : [setUp.from, setUp.to];
  return [...new Set([...supports, ...forces.map((f) => f.station)])].sort((a, b) => a - b);
}

/**
 * Largest bending moment of all forces acting together. The moment is straight between forces and supports, so it is
 * enough to look there.
 *
 * @throws RangeError when a force lies outside the supports
 */
export function governingMoment(setUp: SetUpGeometry, forces: readonly PushingForce[]): GoverningMoment {
  const { momentAt } = bendingOf(setUp, forces);
  let worst: GoverningMoment = { moment: 0, station: setUp.from };
  for (const station of [setUp.from, setUp.to, ...kinksOf(setUp, forces)]) {
    const moment = Math.abs(momentAt(station));
    if (moment > worst.moment) worst = { moment, station };
  }
  return worst;
}

/** Moment at `at` of a unit force at `force`; sagging positive, m. */
function unitMoment(setUp: SpanSetUp, force: number, at: number): number {
  if (setUp.kind === 'cantilever') {
    const sign = Math.sign(setUp.to - setUp.from);
    return -Math.max(0, (force - at) * sign);
  }
  const length = setUp.to - setUp.from;
  const a = force - setUp.from;
  const b = setUp.to - force;
  const x = at - setUp.from;
  const simple = x <= a ? (b * x) / length : (a * (length - x)) / length;
  if (setUp.kind === 'simple') return simple;
  const startMoment = (a * b ** 2) / length ** 2;
  const endMoment = (a ** 2 * b) / length ** 2;
  return simple - startMoment * (1 - x / length) - endMoment * (x / length);
}

/** Share of a unit force that the support at `to` carries. */
function shareAtEnd(setUp: SpanSetUp, force: number): number {
  const share = (force - setUp.from) / (setUp.to - setUp.from);
  return setUp.kind === 'simple' ? share : share ** 2 * (3 - 2 * share);
}

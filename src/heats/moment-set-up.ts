/**
 * Bending moment of jacks pushing across a member, for the three set-ups a crew uses.
 * Formulas: AISC Manual Table 3-23 (from memory of it; they follow from statics for `simple` and
 * `cantilever`, and from zero end rotation for `fixed`).
 */

export interface SetUpGeometry {
  readonly kind: 'simple' | 'fixed' | 'cantilever';
  /** Stations of the two supports, m, increasing. For a cantilever the member is held at `from`… */
  readonly from: number;
  /** …and free at `to` (which may be on either side of `from`). */
  readonly to: number;
}

export interface PushingForce {
  /** Station, m. */
  readonly station: number;
  /** Any unit of force: moments come out in that unit times metres. */
  readonly force: number;
}

export interface GoverningMoment {
  /** Largest |moment| anywhere between the supports, force unit × m. */
  readonly moment: number;
  /** Station where it acts, m. */
  readonly station: number;
}

/**
 * Largest bending moment of all forces acting together. The moment is straight between forces, so it
 * is enough to look at the supports and at the forces.
 *
 * @throws RangeError when a force lies outside the supports
 */
export function governingMoment(setUp: SetUpGeometry, forces: readonly PushingForce[]): GoverningMoment {
  const [low, high] = [Math.min(setUp.from, setUp.to), Math.max(setUp.from, setUp.to)];
  for (const { station } of forces) {
    if (!(station >= low && station <= high)) {
      throw new RangeError(`force at ${station} m, expected between the supports at ${low} m and ${high} m`);
    }
  }
  let worst: GoverningMoment = { moment: 0, station: setUp.from };
  for (const station of [setUp.from, setUp.to, ...forces.map((f) => f.station)]) {
    const moment = Math.abs(momentAt(setUp, forces, station));
    if (moment > worst.moment) worst = { moment, station };
  }
  return worst;
}

/** Bending moment at one station, force unit × m, sagging positive; 0 outside the supports. Forces as in `governingMoment`. */
export function momentAt(setUp: SetUpGeometry, forces: readonly PushingForce[], at: number): number {
  const [low, high] = [Math.min(setUp.from, setUp.to), Math.max(setUp.from, setUp.to)];
  if (at < low || at > high) return 0;
  return forces.reduce((m, f) => m + f.force * unitMoment(setUp, f.station, at), 0);
}

/** Moment at `at` of a unit force at `force`; sagging positive, m. */
function unitMoment(setUp: SetUpGeometry, force: number, at: number): number {
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

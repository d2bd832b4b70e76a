import { Qr } from '../maths/qr.ts';

/** A support of a continuous beam. */
export interface BeamSupport {
  /** m */
  readonly station: number;
  /** EI over the stiffness of the support, m³; 0 is rigid. */
  readonly compliance: number;
}

/** A force across a beam. */
export interface PushingForce {
  /** Station, m. */
  readonly station: number;
  /** Any unit of force: moments come out in that unit times metres. */
  readonly force: number;
}

/** Bending of a beam under point forces. */
export interface Bending {
  /** Moment at a station, force unit × m: positive where a positive force would make it between two supports. 0 off the beam. */
  readonly momentAt: (station: number) => number;
  /** What each support pushes back with, force unit, positive against the forces. */
  readonly reactions: readonly { readonly station: number; readonly force: number }[];
}

/**
 * A straight beam of one section over several supports, free to turn on all of them, under point forces.
 *
 * The unknowns are the moments over the inner supports, by the three-moment equation (Clapeyron) with supports that
 * give (c = EI/k, EI·δ = c·R):
 *
 *   M₋·l + 2M₀·(l + r) + M₊·r = −Σ P·a·(l² − a²)/l − Σ P·b·(r² − b²)/r + 6·[(δ₀ − δ₋)/l + (δ₀ − δ₊)/r]·EI
 *
 * with l, r the spans left and right, a and b the distances of a force from the far ends of those spans. Solved by QR:
 * rows are diagonally dominant where supports are rigid.
 *
 * @param supports two or more, increasing stations
 * @throws RangeError when a force lies outside the supports
 */
export function continuousBeam(supports: readonly BeamSupport[], forces: readonly PushingForce[]): Bending {
  const last = supports.length - 1;
  const at = (i: number) => supports[i]!.station;
  const span = (i: number) => at(i + 1) - at(i);
  const inSpan: PushingForce[][] = Array.from({ length: last }, () => []);
  for (const force of forces) {
    if (!(force.station >= at(0) && force.station <= at(last))) {
      throw new RangeError(
        `force at ${force.station} m, expected between the supports at ${at(0)} m and ${at(last)} m`,
      );
    }
    let i = 0;
    while (i < last - 1 && force.station >= at(i + 1)) i++;
    inSpan[i]!.push(force);
  }

  // Reaction of each support = what the spans give as simple beams + Σ row[k]·(moment over support k).
  const simple = new Float64Array(last + 1);
  inSpan.forEach((held, i) => {
    for (const { station, force } of held) {
      simple[i]! += (force * (at(i + 1) - station)) / span(i);
      simple[i + 1]! += (force * (station - at(i))) / span(i);
    }
  });
  const moments = (support: number): [number, number][] => {
    const row: [number, number][] = [];
    if (support > 0) row.push([support - 1, 1 / span(support - 1)], [support, -1 / span(support - 1)]);
    if (support < last) row.push([support + 1, 1 / span(support)], [support, -1 / span(support)]);
    return row;
  };

  const size = last - 1;
  const rows = Array.from({ length: size }, () => new Float64Array(size));
  const right = new Float64Array(size);
  for (let s = 1; s < last; s++) {
    const [l, r] = [span(s - 1), span(s)];
    const put = (support: number, value: number) => {
      if (support > 0 && support < last) rows[s - 1]![support - 1]! += value;
    };
    put(s - 1, l);
    put(s, 2 * (l + r));
    put(s + 1, r);
    for (const { station, force } of inSpan[s - 1]!) {
      const a = station - at(s - 1);
      right[s - 1]! -= (force * a * (l * l - a * a)) / l;
    }
    for (const { station, force } of inSpan[s]!) {
      const b = at(s + 1) - station;
      right[s - 1]! -= (force * b * (r * r - b * b)) / r;
    }
    const settles: [number, number][] = [
      [s - 1, -6 / l],
      [s, 6 / l + 6 / r],
      [s + 1, -6 / r],
    ];
    for (const [support, factor] of settles) {
      const give = factor * supports[support]!.compliance;
      if (give === 0) continue;
      right[s - 1]! += give * simple[support]!;
      for (const [k, share] of moments(support)) put(k, -give * share);
    }
  }
  const inner = solve(rows, right);
  const over = (support: number) => (support === 0 || support === last ? 0 : inner[support - 1]!);

  return {
    reactions: supports.map(({ station }, s) => ({
      station,
      force: moments(s).reduce((sum, [k, share]) => sum + share * over(k), simple[s]!),
    })),
    momentAt: (station) => {
      if (station < at(0) || station > at(last)) return 0;
      let i = 0;
      while (i < last - 1 && station >= at(i + 1)) i++;
      const share = (station - at(i)) / span(i);
      const held = inSpan[i]!.reduce((sum, f) => {
        const [near, far] =
          station <= f.station
            ? [station - at(i), at(i + 1) - f.station]
            : [at(i + 1) - station, f.station - at(i)];
        return sum + (f.force * near * far) / span(i);
      }, 0);
      return (1 - share) * over(i) + share * over(i + 1) + held;
    },
  };
}

function solve(rows: readonly Float64Array[], right: Float64Array): Float64Array {
  const qr = new Qr(rows.length);
  for (let k = 0; k < rows.length; k++) qr.push(Float64Array.from(rows, (row) => row[k]!));
  return qr.solve(qr.apply(right));
}

import type { FittedShape, SetUp } from '../analysis.ts';
import { once, withPriors } from './held-design.ts';
import { CHORD, fixedColumns } from './model.ts';
import { setUpAt } from './survey-fit.ts';

/** Places between stations about this far apart: half a foot. */
const STEP = 0.1524;
/** No more places than this from one station to the next. */
const MOST = 12;

/** The stations read and places between them, with what does not depend on what was read there. */
export const shapeAlong = once((design, stretches) => {
  const stations = places([...new Set(design.x)].sort((a, b) => a - b));
  const x = Float64Array.from(stations);
  const columns = [...fixedColumns(design.model, x), ...stretches.map((stretch) => stretch.column(x))];
  const { qr } = withPriors(design, stretches);
  const inverse = qr.inverseUpper();
  // The error of the coefficients is R⁻¹z with independent standard normal z, so that of a row a of columns is (aR⁻¹)z.
  const partsFrom = (first: number) =>
    stations.map((_, i) => {
      const parts = new Float64Array(qr.rank);
      for (let p = first; p < columns.length; p++) {
        const row = qr.place[p]!;
        if (row < 0) continue;
        const a = columns[p]![i]!;
        for (let k = row; k < parts.length; k++) parts[k]! += a * inverse[row]![k]!;
      }
      return parts;
    });
  return { stations, columns, whole: partsFrom(0), aboveChord: partsFrom(CHORD) };
});

function places(read: readonly number[]): number[] {
  return read.flatMap((station, i) => {
    const next = read[i + 1];
    if (next === undefined) return [station];
    const count = Math.max(1, Math.min(MOST, Math.round((next - station) / STEP)));
    return Array.from({ length: count }, (_, k) => station + ((next - station) * k) / count);
  });
}

/**
 * The fitted shape of one survey above its set-up and baseline, with the errors its places share.
 *
 * @param inflate variance factor of the readings' misfit
 * @param reach set-up found on reaches of its own, taken as independent of the fit; null: the chord is part of the fit
 * @param baseline shape taken off besides the set-up, m
 */
export function fittedShape(
  along: ReturnType<typeof shapeAlong>,
  coefficients: Float64Array,
  inflate: number,
  setUp: SetUp,
  reach: SetUp | null,
  baseline: (station: number) => number,
): FittedShape {
  const { stations, columns, whole, aboveChord } = along;
  const deviation = stations.map((station, i) => {
    let value = 0;
    for (let p = 0; p < columns.length; p++) value += columns[p]![i]! * coefficients[p]!;
    return value - setUpAt(setUp, station).offset - baseline(station);
  });
  if (reach === null && inflate === 1) return { stations, deviation, parts: aboveChord };
  const factor = Math.sqrt(inflate);
  if (reach === null)
    return { stations, deviation, parts: aboveChord.map((row) => row.map((v) => v * factor)) };
  const parts = whole.map((row, i) => {
    const full = new Float64Array(row.length + 2);
    for (let k = 0; k < row.length; k++) full[k] = factor * row[k]!;
    full.set(lineParts(reach, stations[i]!), row.length);
    return full;
  });
  return { stations, deviation, parts };
}

/** Error of the set-up's line at a station on two independent standard normal numbers (Cholesky factor of its covariance). */
function lineParts(setUp: SetUp, station: number): [number, number] {
  const s = station - setUp.about;
  const [[c00, c01], [, c11]] = setUp.covariance as [[number, number], [number, number]];
  const a = Math.sqrt(Math.max(0, c00));
  const b = a > 0 ? c01 / a : 0;
  return [a + s * b, s * Math.sqrt(Math.max(0, c11 - b * b))];
}

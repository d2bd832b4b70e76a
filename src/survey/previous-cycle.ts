import { type RobustFit, robustFit } from '../maths/robust-fit.ts';
import type { Reading, Survey } from './survey.ts';

/** One reading beside what the survey before makes of its station. */
interface Compared {
  readonly reading: Reading;
  /** The earlier offset at this station (mean of repeats, interpolated between stations), m. */
  readonly before: number;
  /** Expected now: earlier offset, proportionally straightened, under this survey's own string, m. */
  readonly expected: number;
  /** reading.offset − expected, m. */
  readonly residual: number;
}

export interface Comparison {
  readonly previous: Survey;
  readonly rows: readonly Compared[];
  /** Robust sd of the residuals, at least √2 reading sd, m. */
  readonly scale: number;
  /** Offset expected at any station inside the earlier survey, m; null outside. */
  readonly expectedAt: (station: number) => number | null;
  /** Share of the earlier shape still there (1 no movement); null where the earlier shape is too straight to tell. */
  readonly share: number | null;
}

/**
 * A survey against the one before it. From one cycle to the next the string has its own offset and tilt, and the shape is
 * the earlier one, a little smaller: offset ≈ a + b·station + c·(earlier shape). Fitted robustly, so a few blunders or
 * a moved run of rows do not drag it. Null where the two share too few stations.
 */
export function compareWithPrevious(survey: Survey, previous: Survey, readingSd: number): Comparison | null {
  const beforeAt = interpolator(previous);
  const pairs = survey.readings.flatMap((reading) => {
    const before = beforeAt(reading.station);
    return before === null ? [] : [{ reading, before }];
  });
  if (pairs.length < 5) return null;
  const model = shapeBeside(
    pairs.map((pair) => pair.reading.station),
    [pairs.map((pair) => pair.before)],
    readingSd,
  )?.(pairs.map((pair) => pair.reading.offset));
  if (!model) return null;
  const rows = pairs.map(({ reading, before }) => {
    const expected = model.at(reading.station, [before]);
    return { reading, before, expected, residual: reading.offset - expected };
  });
  return {
    previous,
    rows,
    scale: model.fit.scale,
    share: model.share,
    expectedAt: (station) => {
      const before = beforeAt(station);
      return before === null ? null : model.at(station, [before]);
    },
  };
}

export interface ShapeModel {
  readonly fit: RobustFit;
  readonly share: number | null;
  /** @param values of the surveys beside it, at the station */
  readonly at: (station: number, values: readonly number[]) => number;
}

/** The model of offsets read one after the other at the stations from the `from`th on. */
export type FitShape = (offsets: readonly number[], from?: number) => ShapeModel | null;

/**
 * offset ≈ a + b·(s − s̄) + Σ c·(beside − its own straight line), robustly, for one survey or two beside this one; Σ c fixed at 1 where
 * their shape is within the noise. Null where they do not settle a line of their own.
 *
 * @param beside by survey, one value a station
 */
export function shapeBeside(
  stations: readonly number[],
  beside: readonly (readonly number[])[],
  readingSd: number,
): FitShape | null {
  const n = stations.length;
  const middle = stations.reduce((sum, s) => sum + s, 0) / n;
  const half = Math.max(...stations) - middle || 1;
  const one = new Array<number>(n).fill(1);
  const along = stations.map((s) => (s - middle) / half);
  const inertia = along.reduce((sum, t) => sum + t * t, 0);
  const noise = 4 * readingSd;
  const beneath: {
    readonly chord: readonly number[];
    readonly shape: readonly number[];
    readonly rms: number;
  }[] = [];
  for (const values of beside) {
    const above = (chord: readonly number[]) => {
      const shape = values.map((value, i) => value - chord[0]! - chord[1]! * along[i]!);
      return { chord, shape, rms: Math.sqrt(shape.reduce((sum, v) => sum + v * v, 0) / n) };
    };
    // The chord itself is of no account: string and tilt are free. A shape beyond noise above the chord of least squares is so above any.
    const least = above([
      values.reduce((sum, v) => sum + v, 0) / n,
      values.reduce((sum, v, i) => sum + v * along[i]!, 0) / inertia,
    ]);
    const robust = least.rms > noise ? null : robustFit([one, along], values, readingSd);
    if (robust === null && !(least.rms > noise)) return null;
    beneath.push(robust === null ? least : above(robust.coefficients));
  }
  const shapes = beneath.map(({ shape }) => shape);
  const floor = Math.sqrt(1 + 1 / beside.length) * readingSd;
  const shaped = n >= 8 && beneath.every(({ rms }) => rms > noise);
  const columns = shaped ? [one, along, ...shapes] : [one, along];
  const known = one.map((_, i) =>
    shaped ? 0 : shapes.reduce((sum, shape) => sum + shape[i]!, 0) / shapes.length,
  );
  return (offsets, from = 0) => {
    const until = from + offsets.length;
    const rows = columns.map((column) => column.slice(from, until));
    const wanted = offsets.map((value, i) => value - known[from + i]!);
    const fit = robustFit(rows, wanted, floor);
    if (fit === null) return null;
    const [a, b, ...scales] = fit.coefficients as [number, number, ...number[]];
    const shares = shaped ? scales : shapes.map(() => 1 / shapes.length);
    return {
      fit,
      share: shaped ? shares.reduce((sum, c) => sum + c, 0) : null,
      at: (station, values) => {
        const t = (station - middle) / half;
        return shares.reduce(
          (sum, c, k) => sum + c * (values[k]! - beneath[k]!.chord[0]! - beneath[k]!.chord[1]! * t),
          a + b * t,
        );
      },
    };
  };
}

/** Mean of repeats at a station; straight between stations; null outside or in a gap wider than 3 m. */
function interpolator(survey: Survey): (station: number) => number | null {
  const stations: number[] = [];
  const sums: number[] = [];
  const counts: number[] = [];
  for (const reading of survey.readings) {
    const last = stations.length - 1;
    if (last >= 0 && reading.station - stations[last]! <= 1e-6) {
      sums[last]! += reading.offset;
      counts[last]! += 1;
    } else {
      stations.push(reading.station);
      sums.push(reading.offset);
      counts.push(1);
    }
  }
  const at = (i: number) => sums[i]! / counts[i]!;
  return (station) => {
    let low = 0;
    let high = stations.length - 1;
    if (high < 0 || station < stations[0]! - 1e-6 || station > stations[high]! + 1e-6) return null;
    while (high - low > 1) {
      const mid = (low + high) >> 1;
      if (stations[mid]! <= station) low = mid;
      else high = mid;
    }
    if (Math.abs(station - stations[low]!) <= 1e-6) return at(low);
    if (Math.abs(station - stations[high]!) <= 1e-6) return at(high);
    const gap = stations[high]! - stations[low]!;
    if (gap > 3) return null;
    const t = (station - stations[low]!) / gap;
    return at(low) * (1 - t) + at(high) * t;
  };
}

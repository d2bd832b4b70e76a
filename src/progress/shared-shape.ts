import type { LineFit, StationFit, SurveyFit } from '../analysis.ts';
import { solveLeastSquares } from '../maths/least-squares.ts';
import { median } from '../maths/median.ts';
import { exp, log } from '../maths/portable.ts';
import { Qr } from '../maths/qr.ts';
import { judgedSurveys } from '../survey/judged.ts';
import { add, dot, leadingDirection } from './directions.ts';
import { noiseFactor, pooledNoise } from './noise.ts';

/** Shapes tried together before the matter is left to the fit of each survey. */
const MOST_SHAPES = 6;
const FEWEST_SURVEYS = 3;
const FEWEST_STATIONS = 6;
/** A station read in this share of the surveys is a common one. */
const COMMON = 0.8;
/** 99 % point of the Tracy–Widom law of order 1. */
const TRACY_WIDOM_99 = 2.0234;
/** A station set aside in more than this share of the surveys is one the fits get wrong, not one read wrongly each time. */
const OFTEN = 1 / 3;
/** A reading further off than this many standard deviations is a wrong one: a good one goes so far once in 58,000 (normal distribution). */
const WRONG = 4.3;
/** Rounds of fitting and setting aside. */
const PASSES = 4;
/** String offset and tilt, free in every survey. */
const SET_UP = 2;

/**
 * The fit with the shape of the bend shared by all judged surveys: what is new in a survey is how far the string was
 * off and tilted, and how large the shape still is.
 *
 * A survey by itself must tell its string, the original sweep, the elastic bending and every zone from thirty readings.
 * From one survey to the next most of that stays. A member that is elastic between heats shrinks along fixed shapes,
 * one for each pattern of work: deviation(survey, station) = string + Σ amplitude(survey)·shape(station) + what never
 * changes. Worked alike everywhere, one shape is enough, and the movement is known a fifth better than from fits of
 * each survey. Where the residuals show a further shape beyond noise it is added; beyond six, the fits stand as they
 * are. What the fitted zones get wrong at a station they get wrong each time, so it does not disturb a movement.
 *
 * Shapes: leading directions of the readings without a straight line (principal components).
 *
 * `fitted` is then what the shared shapes say plus what never changes, above the chord of the fits; `fittedU` is the
 * part that is new in each survey, as a trend needs it. Stations that are not read as a rule are left out.
 */
export function sharedShape(fit: LineFit): Followed {
  const judged = judgedSurveys(fit);
  // A panel has its map: its crest is followed as each survey gives it.
  if (judged.some((survey) => survey.panel !== undefined)) return { fit, noise: noiseFactor(fit) };
  const grid = commonStations(judged);
  const rows = rowsOf(judged, grid);
  const alone = () => ({ fit, noise: noiseFactor(fit) });
  if (rows.length < FEWEST_SURVEYS || grid.length < FEWEST_STATIONS) return alone();
  const shapes: Float64Array[] = [];
  let next = leadingDirection(rows.map((row) => fitRow(row, grid, []).residual));
  while (next !== null && shapes.length < Math.min(MOST_SHAPES, rows.length - 1)) {
    shapes.push(next);
    const shared = settle(rows, grid, shapes);
    next = furtherDirection(shared.left, shapes.length);
    if (next === null) {
      return {
        fit: withShared(fit, rows, grid, shapes, shared),
        noise: noiseLeft(rows, shared, shapes.length),
      };
    }
  }
  return alone();
}

/** A line as its trend is followed. */
export interface Followed {
  readonly fit: LineFit;
  /** How much larger the readings' scatter is than their stated standard deviation, see `pooledNoise`. */
  readonly noise: number;
}

/** One survey over the common stations. */
interface Row {
  readonly survey: SurveyFit;
  readonly stations: readonly StationFit[];
  /** Deviation as it counts: a wrong reading is given the value expected. */
  readonly value: Float64Array;
  readonly counts: boolean[];
  /** Set aside by a person: it never counts. */
  readonly byHand: readonly boolean[];
}

function commonStations(judged: readonly SurveyFit[]): number[] {
  const counts = new Map<number, number>();
  for (const { stations } of judged) {
    for (const { station, fitted } of stations) {
      if (fitted !== null) counts.set(station, (counts.get(station) ?? 0) + 1);
    }
  }
  return [...counts.keys()]
    .filter((station) => counts.get(station)! >= COMMON * judged.length)
    .sort((a, b) => a - b);
}

/** Surveys that read every common station. A reading the fits set aside is first taken as the fit has it. */
function rowsOf(judged: readonly SurveyFit[], grid: readonly number[]): Row[] {
  const full = judged.flatMap((survey) => {
    const at = new Map(survey.stations.map((s) => [s.station, s]));
    const stations = grid.flatMap((station) => at.get(station) ?? []);
    const complete =
      stations.length === grid.length && stations.every((s) => s.fitted !== null && s.uReading > 0);
    const hand = new Set(survey.setAside.filter((one) => one.by === 'hand').map((one) => one.station));
    return complete
      ? [{ survey, stations, byHand: stations.map((s) => s.setAside && hand.has(s.station)) }]
      : [];
  });
  const misfit = grid.map((_, i) => {
    const aside = full.filter(({ stations, byHand }) => stations[i]!.setAside && !byHand[i]).length;
    return aside > OFTEN * full.length;
  });
  return full.map(({ survey, stations, byHand }) => {
    const counts = stations.map((s, i) => !s.setAside || (misfit[i]! && !byHand[i]));
    return {
      survey,
      stations,
      byHand,
      counts,
      value: Float64Array.from(stations, (s, i) => (counts[i] ? s.deviation : s.fitted!)),
    };
  });
}

/** One survey by least squares on a straight line and the shapes. */
interface RowFit {
  /** Line (offset, tilt), then the amplitude of each shape. */
  readonly coefficients: Float64Array;
  readonly factor: Qr;
  readonly residual: Float64Array;
}

function fitRow(row: Row, grid: readonly number[], shapes: readonly Float64Array[]): RowFit {
  const columns = [grid.map(() => 1), grid, ...shapes];
  const weight = row.stations.map((s, i) => (row.counts[i] ? 1 / s.uReading : 0));
  const factor = new Qr(grid.length);
  for (const column of columns) factor.push(Float64Array.from(column, (value, i) => value * weight[i]!));
  const coefficients = factor.solve(factor.apply(row.value.map((value, i) => value * weight[i]!)));
  const residual = row.value.slice();
  columns.forEach((column, p) => {
    for (let i = 0; i < residual.length; i++) residual[i]! -= coefficients[p]! * column[i]!;
  });
  return { coefficients, factor, residual };
}

interface Shared {
  readonly fits: readonly RowFit[];
  /** Mean residual by station: what never changes. */
  readonly constant: Float64Array;
  /** Residuals without it. */
  readonly left: Float64Array[];
}

/** Fits all surveys and says again which readings are wrong, until that settles. */
function settle(rows: readonly Row[], grid: readonly number[], shapes: readonly Float64Array[]): Shared {
  for (let pass = 1; ; pass++) {
    const fits = rows.map((row) => fitRow(row, grid, shapes));
    const constant = new Float64Array(grid.length);
    for (const { residual } of fits) add(constant, 1 / fits.length, residual);
    const left = fits.map(({ residual }) => residual.map((r, i) => r - constant[i]!));
    if (pass === PASSES || !setAsideAgain(rows, left)) return { fits, constant, left };
  }
}

/** True when a reading changed sides. */
function setAsideAgain(rows: readonly Row[], left: readonly Float64Array[]): boolean {
  const scaled = rows.flatMap((row, k) => row.stations.map((s, i) => Math.abs(left[k]![i]!) / s.uReading));
  const limit = WRONG * Math.max(1, 1.4826 * median(scaled));
  let changed = false;
  rows.forEach((row, k) => {
    row.stations.forEach((station, i) => {
      if (row.byHand[i]) return;
      const expected = row.value[i]! - left[k]![i]!;
      const counts = Math.abs(station.deviation - expected) <= limit * station.uReading;
      if (counts !== row.counts[i]) changed = true;
      row.counts[i] = counts;
      row.value[i] = counts ? station.deviation : expected;
    });
  });
  return changed;
}

/**
 * A further shape the residuals hold; null: none beyond noise. The largest of their squared singular values over their
 * mean square is held against the 99 % point for noise alone (Tracy–Widom; centring and scale by Johnstone 2001, Ma 2012).
 */
function furtherDirection(left: readonly Float64Array[], known: number): Float64Array | null {
  // Each known shape took one direction among surveys and one among stations, the constant and the string three more.
  const [n, m] = [left.length - known, left[0]!.length - SET_UP - known];
  const direction = leadingDirection(left);
  if (direction === null || n < 2 || m < 2) return null;
  const strength = left.reduce((sum, row) => sum + dot(row, direction) ** 2, 0);
  const meanSquare = left.reduce((sum, row) => sum + dot(row, row), 0) / (n * m);
  const [a, b] = [Math.sqrt(n - 0.5), Math.sqrt(m - 0.5)];
  const scatter = (a + b) * exp(log(1 / a + 1 / b) / 3);
  return strength > meanSquare * ((a + b) ** 2 + TRACY_WIDOM_99 * scatter) ? direction : null;
}

/**
 * Scatter of what is left over the stated one. Among surveys the constant and each shape took a degree of freedom, or less,
 * where the amplitude of a shape hardly changes: then it has taken the constant's (trace of the two projections).
 */
function noiseLeft(rows: readonly Row[], shared: Shared, known: number): number {
  let [sum, counted, all] = [0, 0, 0];
  rows.forEach((row, k) => {
    row.stations.forEach((station, i) => {
      all++;
      if (!row.counts[i]) return;
      counted++;
      sum += (shared.left[k]![i]! / station.uReading) ** 2;
    });
  });
  let among = rows.length - 1;
  for (let p = 0; p < known; p++) {
    const amplitudes = amplitudesOf(shared.fits, p);
    const strength = strengthOf(amplitudes);
    if (strength > 0)
      among -= 1 - amplitudes.reduce((total, a) => total + a, 0) ** 2 / (rows.length * strength);
  }
  const along = shared.left[0]!.length - SET_UP - known;
  return pooledNoise(sum, (Math.max(0, among) * along * counted) / all);
}

/** How large a shape is in each survey. */
function amplitudesOf(fits: readonly RowFit[], shape: number): number[] {
  return fits.map(({ coefficients }) => coefficients[SET_UP + shape]!);
}

function strengthOf(amplitudes: readonly number[]): number {
  return amplitudes.reduce((sum, a) => sum + a * a, 0);
}

function withShared(
  fit: LineFit,
  rows: readonly Row[],
  grid: readonly number[],
  shapes: readonly Float64Array[],
  { fits, constant }: Shared,
): LineFit {
  const above = aboveChord(grid, shapes, fits);
  const strengths = shapes.map((_, p) => strengthOf(amplitudesOf(fits, p)));
  const place = new Map(grid.map((station, i) => [station, i]));
  const bySurvey = new Map(
    rows.map((row, k) => [
      row.survey,
      {
        counts: row.counts,
        coefficients: fits[k]!.coefficients,
        covariance: fits[k]!.factor.unscaledCovariance(),
      },
    ]),
  );
  return {
    ...fit,
    surveys: fit.surveys.map((survey) => {
      const own = bySurvey.get(survey);
      if (own === undefined) return survey;
      const stations = survey.stations.flatMap((station) => {
        const i = place.get(station.station);
        if (i === undefined) return [];
        let [fitted, variance] = [constant[i]!, 0];
        above.forEach((a, p) => {
          fitted += a[i]! * own.coefficients[SET_UP + p]!;
          above.forEach((b, r) => {
            variance += a[i]! * b[i]! * own.covariance[SET_UP + p]![SET_UP + r]!;
          });
        });
        for (let p = 1; p < shapes.length; p++)
          variance += (own.coefficients[SET_UP + p]! ** 2 / strengths[p]!) * station.uReading ** 2;
        return [{ ...station, setAside: !own.counts[i], fitted, fittedU: Math.sqrt(Math.max(0, variance)) }];
      });
      return { ...survey, stations };
    }),
  };
}

/** The shapes above the chord: a straight line of each is found from what the fits' chords left in all the surveys. */
function aboveChord(
  grid: readonly number[],
  shapes: readonly Float64Array[],
  fits: readonly RowFit[],
): Float64Array[] {
  const amplitudes = shapes.map((_, p) => amplitudesOf(fits, p));
  const [offset, tilt] = [0, 1].map(
    (part) =>
      solveLeastSquares(
        amplitudes,
        fits.map((fit) => fit.coefficients[part]!),
      ).coefficients,
  );
  return shapes.map((shape, p) => shape.map((value, i) => value + offset![p]! + tilt![p]! * grid[i]!));
}

import type { Baseline, LineFit, SurveyFit } from '../analysis.ts';
import type { PlateSpec } from '../job/job.ts';
import { judgedSurveys } from '../survey/judged.ts';

/** One independent reading a height rests on, with the share it has in it. */
export interface Part {
  readonly key: string;
  readonly share: number;
  /** Standard uncertainty of the reading, m. */
  readonly u: number;
}

/** Height of the steel at one place, positive toward the plate, string set-up left in (it cancels under a rigid plate). */
export interface Height {
  /** m */
  readonly along: number;
  readonly across: number;
  readonly height: number;
  readonly parts: readonly Part[];
  /** True where it lies between readings and was interpolated. */
  readonly interpolated: boolean;
}

/** A reading of the as-left survey under the plate that the fit does not use. */
export interface LeftOut {
  readonly line: string;
  readonly station: number;
  /** m */
  readonly across: number;
  /** Height as read, positive toward the plate, m. */
  readonly height: number;
  /** Rows of it, `file:row`, and why. */
  readonly rows: readonly string[];
  readonly reason: string;
}

export interface SteelSurface {
  readonly heights: readonly Height[];
  /** Readings set aside under the plate, of every line the surface rests on. */
  readonly leftOut: readonly LeftOut[];
  /** Cycle of the as-left survey. */
  readonly cycle: number;
  /** How the slope across is known, in words. */
  readonly across: string;
}

interface Point {
  readonly station: number;
  readonly value: number;
  readonly parts: readonly Part[];
  readonly interpolated: boolean;
}

/**
 * The as-left steel under a plate from the last judged survey of its line: readings between the plate's ends and,
 * by straight lines between readings, the ends themselves. With a `tilt` line each station gives two heights, at the
 * plate's two edges; with further lines `across` each gives a row of its own. Null where the line has no judged
 * survey with at least two readings under the plate.
 */
export function steelSurface(
  plate: PlateSpec,
  flangeWidth: number,
  fitOf: (line: string) => LineFit | null,
): SteelSurface | null {
  const surface = surfaceOfUsed(plate, flangeWidth, fitOf);
  if (surface === null) return null;
  const sign = plate.side === 'positive' ? 1 : -1;
  const rows = [
    { line: plate.line, at: 0 },
    ...plate.across,
    ...(plate.tilt === null ? [] : [{ line: plate.tilt, at: 0 }]),
  ];
  return {
    ...surface,
    leftOut: rows.flatMap(({ line, at }) => leftOutUnder(plate, line, at, sign, fitOf(line))),
  };
}

/** Readings set aside between the plate's ends in the as-left survey of one line. */
function leftOutUnder(
  plate: PlateSpec,
  line: string,
  across: number,
  sign: number,
  fit: LineFit | null,
): LeftOut[] {
  const survey = fit === null ? undefined : judgedSurveys(fit).at(-1);
  if (fit === null || survey === undefined) return [];
  return survey.stations
    .filter((s) => s.setAside && s.station >= plate.from && s.station <= plate.to)
    .map((s) => {
      const asides = survey.setAside.filter((aside) => aside.station === s.station);
      return {
        line,
        station: s.station,
        across,
        height: sign * (s.deviation + baselineShape(fit.baseline, s.station)),
        rows: asides.map((aside) => `${aside.file}:${aside.row}`),
        reason: [...new Set(asides.map((aside) => aside.reason))].join('; '),
      };
    });
}

function surfaceOfUsed(
  plate: PlateSpec,
  flangeWidth: number,
  fitOf: (line: string) => LineFit | null,
): Omit<SteelSurface, 'leftOut'> | null {
  const sign = plate.side === 'positive' ? 1 : -1;
  const main = asLeft(fitOf(plate.line), plate.line);
  if (main === null) return null;
  const rows = underPlate(main.points, plate);
  if (rows.length < 2) return null;
  const centre = rows.map((p): Height => height(p, 0, sign));

  if (plate.tilt !== null) {
    const tilt = asLeft(fitOf(plate.tilt), plate.tilt);
    const half = (plate.width ?? flangeWidth) / 2;
    const edges = centre.flatMap((h) => {
      const slope = tilt === null ? null : at(tilt.points, h.along);
      if (slope === null) return [];
      return [1, -1].map((edge): Height => {
        // A tilt reading is the difference between the edges of the flange; the plate's edge stands at its share of that.
        const share = (edge * sign * half) / flangeWidth;
        return {
          along: h.along,
          across: edge * half,
          height: h.height + share * slope.value,
          parts: [...h.parts, ...slope.parts.map((p) => ({ ...p, share: p.share * share }))],
          interpolated: h.interpolated || slope.interpolated,
        };
      });
    });
    if (edges.length >= 4) {
      return { heights: edges, cycle: main.cycle, across: `slope across from the tilt line ${plate.tilt}` };
    }
  }
  if (plate.across.length > 0) {
    const others = plate.across.flatMap(({ line, at: across }) => {
      const other = asLeft(fitOf(line), line);
      return other === null ? [] : underPlate(other.points, plate).map((p) => height(p, across, sign));
    });
    if (others.length >= 2) {
      const names = plate.across.map((a) => a.line).join(', ');
      return {
        heights: [...centre, ...others],
        cycle: main.cycle,
        across: `rows of lines ${plate.line}, ${names}`,
      };
    }
  }
  return {
    heights: centre,
    cycle: main.cycle,
    across: 'gaps are along one row only: a tilt line or a second line would give them across',
  };
}

function height(point: Point, across: number, sign: number): Height {
  return {
    along: point.station,
    across,
    height: sign * point.value,
    parts: point.parts.map((p) => ({ ...p, share: sign * p.share })),
    interpolated: point.interpolated,
  };
}

function asLeft(fit: LineFit | null, name: string): { cycle: number; points: Point[] } | null {
  const survey: SurveyFit | undefined = fit === null ? undefined : judgedSurveys(fit).at(-1);
  if (fit === null || survey === undefined) return null;
  const points = survey.stations
    .filter((s) => !s.setAside)
    .map((s) => ({
      station: s.station,
      // Deviation is from the baseline; the plate meets the steel itself.
      value: s.deviation + baselineShape(fit.baseline, s.station),
      // What the string's own set-up is off by is common to a row: it cancels along it, and not against another row.
      parts: [
        { key: `${name} ${s.station}`, share: 1, u: s.uReading },
        { key: `${name}, string`, share: 1, u: Math.sqrt(Math.max(0, s.u ** 2 - s.uReading ** 2)) },
      ],
      interpolated: false,
    }));
  return { cycle: survey.cycle, points };
}

/** Readings between the plate's ends, and the ends where readings lie on both sides of them. */
function underPlate(points: readonly Point[], plate: PlateSpec): Point[] {
  const inside = points.filter((p) => p.station >= plate.from && p.station <= plate.to);
  const ends = [plate.from, plate.to]
    .filter((end) => !inside.some((p) => p.station === end))
    .flatMap((end) => at(points, end) ?? []);
  return [...inside, ...ends].sort((a, b) => a.station - b.station);
}

/** Value at a station, by a straight line between its neighbours; null outside the readings. */
function at(points: readonly Point[], station: number): Point | null {
  for (let i = 0; i < points.length; i++) {
    const b = points[i]!;
    if (b.station === station) return b;
    if (i === 0 || b.station < station) continue;
    const a = points[i - 1]!;
    if (a.station > station) return null;
    const share = (station - a.station) / (b.station - a.station);
    return {
      station,
      value: (1 - share) * a.value + share * b.value,
      parts: [
        ...a.parts.map((p) => ({ ...p, share: p.share * (1 - share) })),
        ...b.parts.map((p) => ({ ...p, share: p.share * share })),
      ],
      interpolated: true,
    };
  }
  return null;
}

/** The baseline's own shape (curve, reference profile, edge steps), m. */
export function baselineShape(baseline: Baseline, station: number): number {
  const x = station - baseline.about;
  const curve = baseline.coefficients.reduceRight((sum, c) => sum * x + c, 0);
  const steps = baseline.edgeSteps.reduce((sum, s) => sum + (station >= s.station ? s.step : 0), 0);
  return curve + steps + profileAt(baseline.profile, station);
}

function profileAt(profile: Baseline['profile'], station: number): number {
  if (profile.length === 0) return 0;
  if (station <= profile[0]!.station) return profile[0]!.offset;
  for (let i = 1; i < profile.length; i++) {
    const [a, b] = [profile[i - 1]!, profile[i]!];
    if (station <= b.station) {
      return a.offset + ((b.offset - a.offset) * (station - a.station)) / (b.station - a.station || 1);
    }
  }
  return profile.at(-1)!.offset;
}

import type { PanelSurvey, SurveyFit } from '../analysis.ts';
import type { AcceptanceRule, Line } from '../job/job.ts';
import { interpolate, locate } from '../maths/interpolate.ts';
import { governingChord } from './chord.ts';
import { acceptanceProfile, combinedU, type ProfilePoint } from './profile.ts';

/** What a rule finds in one survey, or why it finds nothing. */
export type RuleMeasure =
  | {
      /** Magnitude, m. */
      readonly value: number;
      readonly u: number;
      /** Signed, m. */
      readonly deviation: number;
      readonly at: {
        readonly station: number;
        readonly height?: number;
        readonly from?: number;
        readonly to?: number;
      };
      /** Where the value is that of the fitted shape between stations: that place. `at` then names the nearest station read. */
      readonly crest: number | null;
    }
  | { readonly missing: 'readings' | 'reach' | 'impact' };

/**
 * Governing value of one rule in one survey.
 *
 * - `whole-line`: largest |deviation| from the baseline, at a station or on the fitted shape between two.
 * - `chord`: largest departure from any chord of that length slid along the line. Offset and tilt of the string drop
 *   out of it, so only the error of the shape remains. A line shorter than the chord is judged on its whole length.
 * - `impact`: |deviation| at the station of the blow, between stations by straight line.
 *
 * A tilt limit for each edge from the web is held against half of what is read edge to edge.
 */
export function measureRule(rule: AcceptanceRule, line: Line, survey: SurveyFit): RuleMeasure {
  const measure = measureReadings(rule, line, survey);
  if ('missing' in measure || rule.edgesFromWeb !== true) return measure;
  const { value, u, deviation } = measure;
  return { ...measure, value: value / 2, u: u / 2, deviation: deviation / 2 };
}

function measureReadings(rule: AcceptanceRule, line: Line, survey: SurveyFit): RuleMeasure {
  if (survey.panel !== undefined) return atCrest(rule, survey.panel);
  const profile = acceptanceProfile(survey);
  if (profile.length === 0) return { missing: 'readings' };
  if (rule.over.kind === 'chord') return overChord(profile, line, rule.over.length);
  if (rule.over.kind === 'impact') return atImpact(profile, line.impact);
  // Of equals the less certain one: at a bearing the chord has no deviation and no doubt, which says nothing of the steel.
  const worst = profile.reduce((most, p) => {
    const further = Math.abs(p.value) - Math.abs(most.value);
    return further > 0 || (further === 0 && p.u > most.u) ? p : most;
  });
  return {
    value: Math.abs(worst.value),
    u: worst.u,
    deviation: worst.value,
    ...named(profile, worst.station),
  };
}

/** A panel is held to its limit at the crest of its map. */
function atCrest(rule: AcceptanceRule, { crest }: PanelSurvey): RuleMeasure {
  if (rule.over.kind !== 'whole-line') return { missing: 'reach' };
  const { station, height, deviation, u } = crest;
  return { value: Math.abs(deviation), u, deviation, at: { station, height }, crest: null };
}

/** The nearest station read, and the place itself where it is not one. */
function named(
  profile: readonly ProfilePoint[],
  place: number,
): { readonly at: { readonly station: number }; readonly crest: number | null } {
  const station = profile.reduce((best, { station: at, read }) => {
    return read && Math.abs(at - place) < Math.abs(best - place) ? at : best;
  }, Number.POSITIVE_INFINITY);
  return { at: { station }, crest: station === place ? null : place };
}

function overChord(profile: readonly ProfilePoint[], line: Line, length: number): RuleMeasure {
  const stations = profile.map((p) => p.station);
  const span = line.bearings[1] - line.bearings[0];
  const chord = governingChord(
    stations,
    profile.map((p) => p.value),
    Math.min(length, span),
  );
  if (chord === null) return { missing: 'reach' };
  const share = (chord.station - chord.from) / (chord.to - chord.from);
  const weights = new Array<number>(profile.length).fill(0);
  add(weights, stations, chord.station, 1);
  add(weights, stations, chord.from, -(1 - share));
  add(weights, stations, chord.to, -share);
  const { at, crest } = named(profile, chord.station);
  return {
    value: Math.abs(chord.departure),
    u: combinedU(profile, weights),
    deviation: chord.departure,
    at: { ...at, from: chord.from, to: chord.to },
    crest,
  };
}

function add(weights: number[], stations: readonly number[], at: number, weight: number): void {
  const { left, share } = locate(stations, at);
  weights[left]! += weight * (1 - share);
  if (share > 0) weights[left + 1]! += weight * share;
}

function atImpact(profile: readonly ProfilePoint[], impact: number | null): RuleMeasure {
  if (impact === null) return { missing: 'impact' };
  const stations = profile.map((p) => p.station);
  if (impact < stations[0]! || impact > stations.at(-1)!) return { missing: 'reach' };
  const deviation = interpolate(
    stations,
    profile.map((p) => p.value),
    impact,
  );
  const weights = new Array<number>(profile.length).fill(0);
  add(weights, stations, impact, 1);
  // Where what neighbours share is not known, it is taken to be everything: the interpolated u is then not reduced.
  const u = profile.every(({ parts }) => parts.length > 0)
    ? combinedU(profile, weights)
    : interpolate(
        stations,
        profile.map((p) => p.u),
        impact,
      );
  return { value: Math.abs(deviation), u, deviation, at: { station: impact }, crest: null };
}

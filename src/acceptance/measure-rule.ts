import type { SurveyFit } from '../analysis.ts';
import type { AcceptanceRule, Line } from '../job/job.ts';
import { governingChord, interpolate, locate } from './chord.ts';
import { acceptanceProfile, type ProfilePoint } from './profile.ts';

/** What a rule finds in one survey, or why it finds nothing. */
export type RuleMeasure =
  | {
      /** Magnitude, m. */
      readonly value: number;
      readonly u: number;
      /** Signed, m. */
      readonly deviation: number;
      readonly at: { readonly station: number; readonly from?: number; readonly to?: number };
    }
  | { readonly missing: 'readings' | 'reach' | 'impact' };

/**
 * Governing value of one rule in one survey.
 *
 * - `whole-line`: largest |deviation| from the baseline.
 * - `chord`: largest departure from any chord of that length slid along the line. Offset and tilt of the string drop
 *   out of it, so only the readings' own error remains. A line shorter than the chord is judged on its whole length.
 * - `impact`: |deviation| at the station of the blow, between stations by straight line.
 */
export function measureRule(rule: AcceptanceRule, line: Line, survey: SurveyFit): RuleMeasure {
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
    at: { station: worst.station },
  };
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
  return {
    value: Math.abs(chord.departure),
    // Taken as independent from station to station; where a shape was fitted this overstates.
    u: Math.sqrt(weights.reduce((sum, w, i) => sum + (w * profile[i]!.uAlone) ** 2, 0)),
    deviation: chord.departure,
    at: { station: chord.station, from: chord.from, to: chord.to },
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
  // Neighbouring errors share the string set-up, so the interpolated u is not reduced as for independent ones.
  const u = interpolate(
    stations,
    profile.map((p) => p.u),
    impact,
  );
  return { value: Math.abs(deviation), u, deviation, at: { station: impact } };
}

import { PROVEN_STRAIN_RATIO, type SetAside, type SurveyFit, type Zone } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { JobUnits, Line } from '../job/job.ts';
import { MEASURED } from '../maths/coverage-level.ts';
import { formatLength } from '../units/format-length.ts';
import { formatAngle } from '../units/format-quantity.ts';
import type { Doubt } from './doubt.ts';
import type { Prepared } from './prepare.ts';

const READ_AGAIN = ' Read that station again; reinstate it if the steel really is there.';

/**
 * One finding a reading set aside, naming file and row. Only in the latest cycle is it a caution: it can still be read again.
 *
 * @param more what else is to be said of a reading that the rule left out
 */
export function setAsideFindings(
  line: Line,
  prepared: Prepared,
  fit: SurveyFit,
  latest: boolean,
  units: JobUnits,
  more: (aside: SetAside) => string = () => '',
): Finding[] {
  return fit.setAside.map((aside): Finding => {
    const pooled = fit.stations.find((s) => s.station === aside.station);
    const expected = pooled?.fitted ?? null;
    const residual = pooled && expected !== null ? pooled.deviation - expected : null;
    const off =
      residual === null || !pooled?.setAside
        ? ''
        : ` It is ${formatLength(Math.abs(residual), { units, as: 'offset' })} from the shape the other readings give.`;
    return {
      severity: aside.by === 'rule' && latest ? 'caution' : 'note',
      code: aside.by === 'hand' ? 'reading-set-aside-by-hand' : 'reading-set-aside',
      message:
        `The reading ${formatLength(aside.offset, { units, as: 'offset' })} at ${formatLength(aside.station, { units, as: 'station' })}, cycle ${fit.cycle}, is left out of the fit: ${aside.reason}.${off}` +
        (aside.by === 'hand' ? '' : latest ? READ_AGAIN : ' Reinstate it if the steel really was there.') +
        (aside.by === 'rule' ? more(aside) : ''),
      line: line.name,
      cycle: prepared.survey.cycle,
      station: aside.station,
      file: aside.file,
      row: aside.row,
    };
  });
}

/** Where and when readings bear each other out against the model, in words. */
export function doubtWords(doubt: Doubt, prepared: readonly Prepared[], units: JobUnits): string {
  const { places, when } = borneOutAt(doubt, prepared, units);
  return `The readings do not fit a few sharp bends with straight steel between them. Those at ${places} (${when}) lie off it together or again, and a misreading does not repeat.`;
}

function borneOutAt(
  doubt: Doubt,
  prepared: readonly Prepared[],
  units: JobUnits,
): { readonly places: string; readonly when: string } {
  const at = new Set<number>();
  const cycles = new Set<number>();
  for (const { survey, reading } of doubt.borneOut) {
    at.add(prepared[survey]!.readings[reading]!.station);
    cycles.add(prepared[survey]!.survey.cycle);
  }
  const places = [...at].sort((a, b) => a - b).map((s) => formatLength(s, { units, as: 'station' }));
  const when = [...cycles].sort((a, b) => a - b);
  return {
    places: listed(places),
    when: `${when.length === 1 ? 'cycle' : 'cycles'} ${listed(when.map(String))}`,
  };
}

function listed(words: readonly string[]): string {
  const shown = words.length > 5 ? [...words.slice(0, 4), `${words.length - 4} more`] : words;
  return shown.length === 1 ? shown[0]! : `${shown.slice(0, -1).join(', ')} and ${shown.at(-1)}`;
}

/** @param apart the farthest that model and readings' own curve are from each other, m; null where that makes the zones doubtful */
export function misfitFinding(
  line: Line,
  doubt: Doubt,
  prepared: readonly Prepared[],
  units: JobUnits,
  apart: number | null,
): Finding {
  if (apart !== null) {
    const { places, when } = borneOutAt(doubt, prepared, units);
    return {
      severity: 'note',
      code: 'model-fits-roughly',
      message: `At ${places} (${when}) the zone model would leave readings out that the readings beside them, or the next survey, bear out. They are kept and the shape follows them; it is nowhere more than ${formatLength(apart, { units, as: 'offset', fraction: 32 })} from the model’s, so the zones hold within their ±.`,
      line: line.name,
    };
  }
  return {
    severity: 'caution',
    code: 'model-does-not-fit',
    message: `${doubtWords(doubt, prepared, units)} These readings are kept and the shape follows them. Deviations and movement can be used; zones, their lengths and strain ratios are doubtful. Look at the steel before placing vees by them.`,
    line: line.name,
  };
}

/**
 * Zones bent past what has been proven, by the fitted shape or by the published second difference at a station,
 * whichever is the larger. A bound is said first.
 */
export function strainFindings(line: Line, zones: readonly Zone[], units: JobUnits): Finding[] {
  return zones.flatMap((zone): Finding[] => {
    const { peak, peakU, lowerBound } = zone.strainRatio;
    const published = zone.publishedStrain;
    const model = peak > PROVEN_STRAIN_RATIO;
    const station = published !== null && published.ratio > PROVEN_STRAIN_RATIO;
    if (!model && !station) return [];
    const fitted = `${lowerBound ? 'at least ' : ''}${peak.toFixed(0)} ± ${(MEASURED.factor * peakU).toFixed(0)} by the fitted shape`;
    const read =
      published === null
        ? ''
        : `, ${published.ratio.toFixed(0)} ± ${(MEASURED.factor * published.u).toFixed(0)} by the published second difference at ${formatLength(published.station, { units, as: 'station' })}${published.leftOut ? ', with a reading that the fit leaves out: read it again' : ''}`;
    const noise =
      !model && station && published.ratio - MEASURED.factor * published.u < PROVEN_STRAIN_RATIO
        ? ' Stations so close together cannot tell it from reading error: read every second one.'
        : '';
    return [
      {
        severity: 'caution',
        code: 'strain-ratio-past-proven-limit',
        message: `${lowerBound ? `The stations are too far apart to show how sharply zone ${zone.zone} is bent. ` : ''}Zone ${zone.zone} was bent to this many times yield strain: ${fitted}${read}.${noise} Repairs are proven up to ${PROVEN_STRAIN_RATIO} (Avent and others; the limit of what has been tested, not a failure limit): the engineer decides whether to straighten or replace.`,
        line: line.name,
        station: published !== null && station ? published.station : (zone.from + zone.to) / 2,
      },
    ];
  });
}

/** Zones whose width the spacing cannot show, with the spacing that would: a quarter of the likely zone. */
export function spacingFindings(line: Line, zones: readonly Zone[], units: JobUnits): Finding[] {
  return zones
    .filter(
      ({ strainRatio, class: kind, rotation, rotationU }) =>
        // How sharply steel is bent that is not shown to be bent at all is no question.
        strainRatio.lowerBound && (kind === 'plastic' || Math.abs(rotation) > MEASURED.factor * rotationU),
    )
    .map((zone) => ({
      severity: 'caution',
      code: 'spacing-too-wide-for-zone',
      message: `Zone ${zone.zone}: strain ratio at least ${zone.strainRatio.peak.toFixed(1)}${zone.publishedStrain === null ? '' : ` (published second difference ${zone.publishedStrain.ratio.toFixed(1)})`}. The stations are too far apart to show how sharply it is bent. Read ${formatLength(zone.from - (zone.to - zone.from) / 2, { units, as: 'station', fraction: 2 })} to ${formatLength(zone.to + (zone.to - zone.from) / 2, { units, as: 'station', fraction: 2 })} every ${spacingFor(zone, units)}.`,
      line: line.name,
      station: (zone.from + zone.to) / 2,
    }));
}

/**
 * Plastic zones that no blow in the reach said to be struck explains: it bends steel where it hits and over the supports on either
 * side, so what lies beyond those was struck too, or was bent before.
 *
 * @param supports bearings and diaphragms, m, increasing
 */
export function reachFindings(
  line: Line,
  struck: readonly [number, number] | null,
  supports: readonly number[],
  zones: readonly Zone[],
  units: JobUnits,
): Finding[] {
  if (struck === null) return [];
  const low = supports.filter((at) => at <= struck[0]).at(-1) ?? struck[0];
  const high = supports.find((at) => at >= struck[1]) ?? struck[1];
  const say = (at: number) => formatLength(at, { units, as: 'station', fraction: 2 });
  return zones
    .filter((zone) => zone.class === 'plastic' && (zone.to < low || zone.from > high))
    .map((zone) => ({
      severity: 'caution',
      code: 'bend-outside-struck-reach',
      message: `Zone ${zone.zone}, ${say(zone.from)} to ${say(zone.to)}, lies beyond the struck reach and the supports next to it (${say(low)} to ${say(high)}): a blow there would not bend it. Look for marks of another blow or of an earlier repair, or correct "struck".`,
      line: line.name,
      station: zone.core.centre,
    }));
}

/** Combined uncertainties by which two answers to one question differ before it is said: two-sided 0.3 %. */
const DIFFER = 3;
/** An angle from reaches so short that its own u is past this share of the rotation says nothing against it. */
const LARGEST_ANGLE_U = 0.1;

/**
 * Plastic zones whose published angle of bend from four offsets is not the fitted rotation. The two share readings, so
 * their combined u, taken as if independent, errs on the wide side. On 45 simulated
 * girders with diaphragms given 14 zones differed so; in all of them the rotation was nearer the truth.
 */
export function angleFindings(line: Line, zones: readonly Zone[]): Finding[] {
  return zones.flatMap((zone): Finding[] => {
    const published = zone.degreeOfDamage;
    if (published === null || zone.class !== 'plastic') return [];
    if (published.u > LARGEST_ANGLE_U * Math.abs(zone.rotation)) return [];
    const u = Math.sqrt(published.u ** 2 + zone.rotationU ** 2);
    const difference = published.angle - zone.rotation;
    if (Math.abs(difference) <= DIFFER * u) return [];
    return [
      {
        severity: 'note',
        code: 'angle-of-bend-disagrees',
        message: `Zone ${zone.zone}: the published angle of bend, from two offsets on the reach either side, is ${formatAngle(published.angle)} (u ${formatAngle(published.u)}); the rotation fitted to all readings is ${formatAngle(zone.rotation)} (u ${formatAngle(zone.rotationU)}). They differ by ${formatAngle(Math.abs(difference))}, ${(Math.abs(difference) / u).toFixed(1)} times their combined u. The published angle takes both reaches for straight: elastic bending locked in, an original sweep or a bend not found on a reach goes into it. On simulated girders locked against their diaphragms the fitted rotation was the nearer in every zone where they differed so; with the diaphragms in the job, give it the more weight.`,
        line: line.name,
        station: (zone.from + zone.to) / 2,
      },
    ];
  });
}

function spacingFor(zone: Zone, units: JobUnits): string {
  const wanted = (zone.to - zone.from) / 8;
  if (units === 'si')
    return formatLength(Math.max(0.05, Math.round(wanted / 0.05) * 0.05), { units, as: 'station' });
  const inches = Math.max(3, Math.round(wanted / 0.0254 / 3) * 3);
  return `${inches} in`;
}

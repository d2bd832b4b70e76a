import type { AcceptanceResult, LineFit } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { Job, JobUnits, Line, Member } from '../job/job.ts';
import { HOT_STEEL, hotSteelText, isJudged, judgedSurveys } from '../survey/judged.ts';
import { formatLength } from '../units/format-length.ts';
import { formatTemperature } from '../units/format-quantity.ts';
import { GUARD } from './guarded.ts';
import { sunBow } from './sun-bow.ts';

/** One edge in the sun and one in shade: 20 °F is an ordinary morning. Common practice, no source. */
const SUNNY = 20 / 1.8;

/** Surveys shown and not judged, and results near a limit whose survey does not say how warm the steel was. */
export function acceptanceFindings(
  line: Line,
  member: Member,
  fit: LineFit,
  results: readonly AcceptanceResult[],
  units: JobUnits,
): Finding[] {
  return [
    ...hotSurveys(line, fit, units),
    ...warmerSurveys(line, member, fit, units),
    ...nearLimit(line, member, fit, results, units),
  ];
}

/** Steel this much warmer than at the survey before may still be warm from the heats; weather does less from day to day. Common practice, no source; 40 °F. */
const WARMER = 40 / 1.8;

/**
 * Judged surveys read on steel much warmer than the one before: what they moved may be warmth. A caution where it is
 * the last one, which can still be read again.
 */
function warmerSurveys(line: Line, member: Member, fit: LineFit, units: JobUnits): Finding[] {
  const told = judgedSurveys(fit).filter((survey) => survey.temperature !== null);
  const last = judgedSurveys(fit).at(-1);
  return told.slice(1).flatMap((survey, i): Finding[] => {
    const before = told[i]!;
    const warmer = survey.temperature! - before.temperature!;
    if (warmer < WARMER) return [];
    const say = (celsius: number) => formatTemperature(celsius, units);
    const length = line.bearings[1] - line.bearings[0];
    const bow =
      line.kind === 'sweep'
        ? ` Were the difference from one flange edge to the other, it would bow a free member of this length by ${formatLength(sunBow(length, member.flangeWidth, warmer), { units, as: 'offset' })} (α·ΔT·L²/8b).`
        : '';
    return [
      {
        severity: survey === last ? 'caution' : 'note',
        code: 'steel-warmer-than-before',
        message: `Cycle ${survey.cycle} of ${line.name} was read on steel at ${say(survey.temperature!)}, cycle ${before.cycle} at ${say(before.temperature!)}. Steel still warm from the heats is bent by its own warmth, and part of what it moved may be that.${bow} Read again when the steel is as cool as the air.`,
        line: line.name,
        cycle: survey.cycle,
      },
    ];
  });
}

function hotSurveys(line: Line, fit: LineFit, units: JobUnits): Finding[] {
  return fit.surveys
    .filter((survey) => survey.state === 'released' && survey.temperature !== null && !isJudged(survey))
    .filter((survey) => survey.temperature! > HOT_STEEL)
    .map((survey) => ({
      severity: 'caution',
      code: 'steel-too-hot-to-judge',
      message: `Cycle ${survey.cycle} of ${line.name} was read at ${formatTemperature(survey.temperature!, units)}: shown, not judged. Read again below ${hotSteelText(units)} (Michigan DOT form 0388, 07/19).`,
      line: line.name,
      cycle: survey.cycle,
    }));
}

function nearLimit(
  line: Line,
  member: Member,
  fit: LineFit,
  results: readonly AcceptanceResult[],
  units: JobUnits,
): Finding[] {
  const last = judgedSurveys(fit).at(-1);
  if (last === undefined || line.kind !== 'sweep' || (last.temperature !== null && last.time !== null))
    return [];
  const length = line.bearings[1] - line.bearings[0];
  const bow = sunBow(length, member.flangeWidth, SUNNY);
  const near = results.find(
    (result) =>
      result.measured !== null &&
      Math.abs(result.measured - result.limit) < Math.max(bow / 2, GUARD * result.u!),
  );
  if (near === undefined) return [];
  const missing = last.temperature === null ? (last.time === null ? 'neither time nor' : 'no') : null;
  const says = missing === null ? 'says no time of day' : `says ${missing} steel temperature`;
  return [
    {
      severity: 'note',
      code: 'near-limit-without-temperature',
      message: `${line.name}, ${near.rule.label}: the result is near its limit and cycle ${last.cycle} ${says}. One flange edge 20 °F (11 °C) warmer bows a free member of this length by ${formatLength(bow, { units, as: 'offset' })}. Read with both edges in shade, and write down time and temperature.`,
      line: line.name,
      cycle: last.cycle,
    },
  ];
}

/** What the chosen sets say beside their limits, what of them this member does not call for, and whom they are for. */
export function presetFindings(job: Job): Finding[] {
  return (job.presets ?? []).flatMap(({ key, source, note, passedOver, unconfirmed }): Finding[] => [
    ...(note === ''
      ? []
      : [{ severity: 'note', code: 'preset-note', message: `Preset ${key}: ${note} (${source})` } as const]),
    ...passedOver.map(
      (why): Finding => ({
        severity: 'caution',
        code: 'preset-rule-passed-over',
        message: `Preset ${key} sets no limit here: ${why} (${source}).`,
      }),
    ),
    ...(unconfirmed === null
      ? []
      : [
          {
            severity: 'caution',
            code: 'preset-for-another-member',
            message: `Preset ${key} is written for a ${unconfirmed}; the job does not say that this member is one (member.element).`,
          } as const,
        ]),
  ]);
}

import type { Finding } from '../finding.ts';
import type { JobUnits } from '../job/job.ts';
import { compareWithPrevious } from '../survey/previous-cycle.ts';
import type { Survey } from '../survey/survey.ts';
import { FOOT, INCH } from '../units/factors.ts';
import { formatLength } from '../units/format-length.ts';
import { about } from './survey-finding.ts';

/** A whole survey in another unit, or with the sign turned, against the cycle before; or out of all proportion alone. */
export function unitDoubt(
  survey: Survey,
  previous: Survey | null,
  sd: number,
  units: JobUnits,
): Finding | null {
  const share = previous === null ? null : (compareWithPrevious(survey, previous, sd)?.share ?? null);
  const near = (value: number) => share !== null && Math.abs(share / value - 1) < 0.2;
  const say = (what: string) =>
    about(
      survey,
      'unit-doubtful',
      `Cycle ${survey.cycle} of ${survey.line} has ${what} the shape of cycle ${previous?.cycle}: is the unit of the column right?`,
    );
  if (near(-1)) {
    return about(
      survey,
      'sign-doubtful',
      `Cycle ${survey.cycle} of ${survey.line} is the mirror image of cycle ${previous!.cycle}: was the positive side turned round?`,
    );
  }
  if (units === 'us') {
    if (near(1 / 12)) return say('one twelfth of (looks like feet in an inches column)');
    if (near(12)) return say('twelve times (looks like inches in a feet column)');
  }
  if (near(25.4)) return say('25 times (looks like millimetres in an inches column)');
  if (near(1 / 25.4)) return say('one twenty-fifth of (looks like inches in a millimetres column)');
  if (near(10) || near(0.1)) return say(share! > 1 ? 'ten times' : 'one tenth of');
  return previous === null ? aloneUnitDoubt(survey, units) : null;
}

function aloneUnitDoubt(survey: Survey, units: JobUnits): Finding | null {
  const offsets = survey.readings.map((reading) => reading.offset);
  const most = offsets.reduce((a, b) => Math.max(a, Math.abs(b)), 0);
  const reach = survey.readings.at(-1)!.station - survey.readings[0]!.station;
  const big = offsets.filter((offset) => Math.abs(offset) > 0.1 * reach).length;
  if (units === 'us' && reach > 0 && big >= offsets.length / 3) {
    return about(
      survey,
      'unit-doubtful',
      `Offsets of ${survey.line} in cycle ${survey.cycle} reach ${formatLength(most, { units, as: 'station' })} over ${formatLength(reach, { units, as: 'station' })}: looks like millimetres in an inches column.`,
    );
  }
  const inHundredths = offsets.every((offset) => isWhole(offset / (INCH / 100)));
  const notSixteenths = offsets.filter((offset) => !isWhole(offset / (INCH / 16))).length;
  if (
    units === 'us' &&
    offsets.length >= 5 &&
    inHundredths &&
    notSixteenths > offsets.length / 2 &&
    most < INCH
  ) {
    const feet = formatLength((most / INCH) * FOOT, { units, as: 'offset' });
    return about(
      survey,
      'unit-doubtful',
      `Offsets of ${survey.line} in cycle ${survey.cycle} are in hundredths and under one: looks like feet in an inches column (the largest would be ${feet}).`,
      { severity: 'note' },
    );
  }
  return null;
}

function isWhole(value: number): boolean {
  return Math.abs(value - Math.round(value)) < 1e-6;
}

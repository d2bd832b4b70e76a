import type { Finding } from '../finding.ts';
import type { Job } from '../job/job.ts';
import { PSI } from '../units/factors.ts';
import { formatLength } from '../units/format-length.ts';
import { formatStress, formatTemperature } from '../units/format-quantity.ts';
import { formatMoment } from './format-moment.ts';
import type { HotStress } from './hot-stress.ts';
import { pressureText } from './limit-text.ts';
import { ramText } from './ram-text.ts';
import type { JobRestraint } from './restraint-of-job.ts';

/** Pressure that common hand and electric pumps reach, Pa. Common practice, no source. */
const USUAL_PUMP = 10_000 * PSI;

/** What the crew should know about the jacks before they pump. */
export function jackingFindings(job: Job, restraint: JobRestraint | null, hot: HotStress | null): Finding[] {
  if (restraint === null) return [];
  return [
    ...supportFindings(job),
    ...deckFindings(job),
    ...ramFindings(job, restraint),
    ...hotFindings(job, hot),
  ];
}

function supportFindings(job: Job): Finding[] {
  if (job.restraint?.setUp !== 'continuous' || job.member.diaphragms !== null) return [];
  if (job.restraint.supports.length > 2) return [];
  return [
    {
      severity: 'caution',
      code: 'diaphragms-not-given',
      message:
        'The job names no diaphragms, so the pushed part is taken to run free from bearing to bearing: what it does beyond a diaphragm, and what each diaphragm must hold, is not known. Give member.diaphragms, [] if there are none.',
    },
  ];
}

/** What a deck is cast onto is not a flange that bends by itself. */
function deckFindings({ member, restraint, lines }: Job): Finding[] {
  const line = lines.find(({ name }) => name === restraint?.line);
  if (member.deck !== 'composite' || line?.kind !== 'sweep' || line.part !== 'top-flange') return [];
  return [
    {
      severity: 'caution',
      code: 'deck-holds-pushed-flange',
      message: `The jacks bear on ${line.name}, a top flange that the job says a composite deck holds. The ceiling is worked out for a flange free between its supports: it says nothing of what the deck and its connectors bear. The engineer decides whether to push here at all.`,
      line: line.name,
    },
  ];
}

function ramFindings(job: Job, { ceiling }: JobRestraint): Finding[] {
  if (ceiling === null) return [];
  const at = formatLength(ceiling.governsAt, { units: job.units, as: 'station' });
  if (ceiling.exactPressure === 0) {
    return [
      {
        severity: 'stop',
        code: 'locked-in-uses-the-share',
        message: `No jacking: what the blow left locked in at ${at}, ${formatMoment(ceiling.lockedIn?.moment ?? 0, job.units)}, is the whole allowed share by itself and acts as the jacks would. The engineer must say how it is let go first.`,
        station: ceiling.governsAt,
      },
    ];
  }
  const found: Finding[] = [];
  if (ceiling.ram.atMost !== null) {
    found.push({
      severity: ceiling.pressure === 0 ? 'stop' : 'caution',
      code: 'ram-too-large',
      message:
        ceiling.pressure === 0
          ? `No jacking with this ram: the ceiling is below the first mark of the gauge. Use a ram of at most ${ramText(ceiling.ram.atMost, job.units, 'down')}.`
          : `The ceiling is fewer than ten marks of the gauge, so one mark is more than a tenth of it. Use a ram of at most ${ramText(ceiling.ram.atMost, job.units, 'down')}, or a finer gauge.`,
    });
  }
  if (ceiling.rating !== null) {
    found.push({
      severity: 'note',
      code: 'rating-before-ceiling',
      message: `The rating of ${ceiling.rating.of}, ${pressureText(ceiling.rating.pressure, job.units)}, is reached before the ceiling and holds. A ram of at least ${ramText(ceiling.ram.atLeast!, job.units, 'up')} would reach the ceiling.`,
    });
  } else if (ceiling.exactPressure > USUAL_PUMP && job.restraint?.pumpRating === null) {
    found.push({
      severity: 'caution',
      code: 'rating-not-stated',
      message: `The ceiling of ${pressureText(ceiling.exactPressure, job.units)} is more than many pumps, hoses and jacks are made for (10,000 psi is usual; common practice, no source), and the job states no rating. Give restraint.pumpRating and the capacity of each jack, and never pump past them.`,
    });
  }
  return found;
}

function hotFindings(job: Job, hot: HotStress | null): Finding[] {
  if (hot === null || hot.total <= hot.hotYield) return [];
  const stress = (pascals: number) => formatStress(pascals, job.units);
  const at = formatLength(hot.station, { units: job.units, as: 'station' });
  const yields =
    hot.yieldsAt === null ? '' : ` It yields at that from ${formatTemperature(hot.yieldsAt, job.units)} on.`;
  return [
    {
      severity: 'caution',
      code: 'stress-past-hot-yield',
      message: `At ${at} dead load, jacks at the ceiling and what the blow left make ${stress(hot.total)} at the edge; steel at ${formatTemperature(hot.temperature, job.units)} yields at ${stress(hot.hotYield)} (from memory of FHWA-IF-08-999, chapter 4).${yields} Only steel under the torch is that hot; what may be jacked is for the engineer to say.`,
      station: hot.station,
    },
  ];
}

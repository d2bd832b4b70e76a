import type { LineFit, ZoneProgress } from '../analysis.ts';
import type { Line, Member } from '../job/job.ts';
import { levelText } from '../maths/coverage-level.ts';
import { hypot } from '../maths/portable.ts';
import { readsNear } from '../survey/coverage.ts';
import { crestPerRadian } from '../survey/crest.ts';
import { judgedSurveys } from '../survey/judged.ts';
import { FEWEST_READINGS, judgeRate, type RateJudgement, SURE } from './judge-rate.ts';
import { chanceAbove, levelOf } from './movement.ts';
import { SEEN } from './trend.ts';
import { degrees } from './words.ts';

/**
 * Progress of each zone's rotation. A rotation does not depend on where the string was tied, so a zone can be seen
 * to stand still or to turn the wrong way while the largest deviation still improves. A zone that cannot be told from
 * straight now is given no word for its rate: it is within tolerance if that is sure, else undecided.
 *
 * @param usefulGain of the line, m per cycle; for a zone it is the rotation that moves the steel by as much
 * @param tolerance of the line, m; null where it has none
 * @param stillFrom cycle from which the line has stood still up to now; null where it moves
 */
export function zoneProgress(
  line: Line,
  member: Member,
  fit: LineFit,
  usefulGain: number,
  tolerance: number | null,
  noise: number,
  stillFrom: number | null,
): ZoneProgress[] {
  return fit.zones.map((zone) => {
    const perMetre = 1 / crestPerRadian(line, zone.core.centre, member);
    const sense = zone.rotation < 0 ? -1 : 1;
    const read = judgedSurveys(fit).flatMap((survey) => {
      const seen = survey.zones.find((z) => z.zone === zone.zone);
      return seen === undefined
        ? []
        : [{ at: survey.cycle, value: sense * seen.rotation, u: noise * seen.u }];
    });
    // Past straight the other side is the one to close: work that brings the zone back is not bending it the wrong way.
    const now = read.at(-1);
    const crossed = now !== undefined && now.value < -SEEN * now.u;
    const points = crossed ? read.map((point) => ({ ...point, value: -point.value })) : read;
    const nothing = { zone: zone.zone, rate: null, rateLow: null, rateHigh: null, sinceCycle: null };
    if (points.length < FEWEST_READINGS) {
      return {
        ...nothing,
        verdict: 'not-enough-readings',
        reason: `Zone ${zone.zone} has been read in ${points.length} of the ${FEWEST_READINGS} surveys a rate needs.`,
      };
    }
    const last = judgedSurveys(fit).at(-1)!;
    if (!readsNear(fit, last, zone.core.centre)) {
      return {
        ...nothing,
        verdict: 'undecided',
        reason: `Zone ${zone.zone} was not read in cycle ${last.cycle}: read the stations in it.`,
      };
    }
    const judged = judgeRate(points, usefulGain * perMetre);
    const stood = stillFrom === null || closedSince(points, stillFrom) ? null : stillFrom;
    return {
      zone: zone.zone,
      rate: judged.rate,
      rateLow: judged.low,
      rateHigh: judged.high,
      sinceCycle: points[judged.since]!.at,
      ...zoneVerdict(
        zone.zone,
        judged,
        usefulGain * perMetre,
        tolerance === null ? null : tolerance * perMetre,
        points[judged.since]!.at,
        crossed,
        stood,
      ),
    };
  });
}

/** A zone is known less well than the line: where the line stands still, its pace of before is no word for now unless it is seen to go on. */
function closedSince(points: readonly { at: number; value: number; u: number }[], cycle: number): boolean {
  const then = points.findLast((point) => point.at <= cycle);
  const now = points.at(-1)!;
  return then !== undefined && then.value - now.value > SEEN * hypot(then.u, now.u);
}

function zoneVerdict(
  name: string,
  judged: RateJudgement,
  usefulGain: number,
  tolerance: number | null,
  since: number,
  crossed: boolean,
  stood: number | null,
): Pick<ZoneProgress, 'verdict' | 'reason'> {
  const { level, u: levelU } = levelOf(judged.belief);
  const past = tolerance ?? usefulGain;
  const rate = `${degrees(Math.abs(judged.rate))} per cycle by the readings since cycle ${since}`;
  const interval = `${levelText(judged)} interval ${degrees(-judged.high)} to ${degrees(-judged.low)}`;
  const opening = `${levelText(judged)} interval ${degrees(judged.low)} to ${degrees(judged.high)}`;
  const now = `bent by ${degrees(level)} ± ${degrees(2 * levelU)} now, by all surveys together`;
  const within: Pick<ZoneProgress, 'verdict' | 'reason'> | null =
    tolerance !== null && Math.abs(level) + SEEN * levelU <= tolerance
      ? {
          verdict: 'within-tolerance',
          reason: `Zone ${name} alone would bend the line by less than the tolerance: ${now}.`,
        }
      : null;
  // No bend the readings can show: any word for its rate or its side would be a word for noise. A zone that starts to
  // bend stands clear of straight before its rate does.
  if (Math.abs(level) <= SEEN * levelU) {
    const room = tolerance === null ? '' : `; the tolerance leaves room for a bend of ${degrees(tolerance)}`;
    return (
      within ?? {
        verdict: 'undecided',
        reason: `Zone ${name} cannot be told from straight, so its rate is given no word: ${now}${room}.`,
      }
    );
  }
  if (crossed && chanceAbove(judged.belief, past) >= SURE) {
    return {
      verdict: 'overcorrected',
      reason: `Zone ${name} has gone past straight and is bent to the other side: ${now} that way, now ${judged.rate <= 0 ? 'closing' : 'opening'} ${rate}.`,
    };
  }
  if (judged.word === 'regressing') {
    return {
      verdict: 'regressing',
      reason: `Zone ${name} is bending the wrong way by ${rate} (${opening}); ${now}.`,
    };
  }
  if (within !== null) return within;
  if (judged.word === 'progressing' && stood !== null) {
    return {
      verdict: 'undecided',
      reason: `Zone ${name} straightened by ${rate} (${interval}); the line has stood still since cycle ${stood}, and whether this zone went on is not seen; ${now}.`,
    };
  }
  const words = {
    progressing: `Zone ${name} now straightens by ${rate} (${interval}); ${now}.`,
    slow: `Zone ${name} now straightens by only ${rate} (${interval}), less than the useful gain of ${degrees(usefulGain)}; ${now}.`,
    stalled: `Zone ${name} shows no useful movement now: straightening by ${degrees(-judged.rate)} per cycle by the readings since cycle ${since} (${interval}), useful gain ${degrees(usefulGain)}; ${now}.`,
    undecided: `Zone ${name} cannot be judged yet: straightening by ${degrees(-judged.rate)} per cycle by the readings since cycle ${since} (${interval}); ${now}.`,
  };
  return { verdict: judged.word, reason: words[judged.word] };
}

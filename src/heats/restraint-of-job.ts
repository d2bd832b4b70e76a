import type { Zone } from '../analysis.ts';
import type { Job, Restraint } from '../job/job.ts';
import { bendingProperties } from '../section/rectangles.ts';
import { iSection, plateSection, teeSection } from '../section/shapes.ts';
import { type JackingCeiling, jackingCeiling } from './jacking-ceiling.ts';
import { loadLimit } from './load-limit.ts';
import { momentAt, type SetUpGeometry } from './moment-set-up.ts';

/** The part that bends, with its plastic modulus and how it was found. */
interface BentPart {
  /** m³ */
  readonly plasticModulus: number;
  /** In words, for the card and the report. */
  readonly how: string;
}

export interface JobRestraint {
  readonly setUp: SetUpGeometry;
  readonly part: BentPart;
  /** Null where the job has no jack. */
  readonly ceiling: JackingCeiling | null;
}

/** What the job says about jacking, worked out; null where it says nothing. */
export function restraintOfJob(job: Job): JobRestraint | null {
  const { restraint, member, jacks } = job;
  if (restraint === null) return null;
  const part = bentPart(restraint, member);
  const setUp = { kind: restraint.setUp, from: restraint.supports[0], to: restraint.supports[1] };
  const placed = jacks.flatMap((jack) => (jack.station === null ? [] : [{ ...jack, station: jack.station }]));
  const ceiling =
    placed.length === 0
      ? null
      : jackingCeiling({
          plasticModulus: part.plasticModulus,
          yieldStress: member.yieldStress,
          limit: loadLimit(restraint.importance, restraint.fraction),
          setUp,
          jacks: placed,
          gaugeDivision: restraint.gaugeDivision,
        });
  return { setUp, part, ceiling };
}

/**
 * Jacking moment over plastic moment at one station with every jack at this gauge pressure (Pa). Signed: two stations
 * with the same sign are bent the same way (under fixed ends the moment turns round near the supports).
 */
export function loadRatioAt(job: Job, restraint: JobRestraint, pressure: number, station: number): number {
  const forces = job.jacks.flatMap((jack) =>
    jack.station === null ? [] : [{ station: jack.station, force: pressure * jack.ramArea }],
  );
  const plasticMoment = restraint.part.plasticModulus * job.member.yieldStress;
  return momentAt(restraint.setUp, forces, station) / plasticMoment;
}

/**
 * Whether the jacks work with (+1) or against (−1) the straightening of a bend of this sense at a station. They are
 * taken to push so as to straighten the largest bend between the supports, which is what they are put there for.
 */
export function jackSense(
  job: Job,
  restraint: JobRestraint,
  zones: readonly Zone[],
): (station: number, sense: number) => 1 | -1 {
  const [low, high] = [restraint.setUp.from, restraint.setUp.to].sort((a, b) => a - b) as [number, number];
  const worked = zones
    .filter((zone) => zone.core.centre >= low && zone.core.centre <= high)
    .reduce<Zone | null>(
      (best, zone) => (best === null || Math.abs(zone.rotation) > Math.abs(best.rotation) ? zone : best),
      null,
    );
  if (worked === null) return () => 1;
  const reference = loadRatioAt(job, restraint, 1, worked.core.centre) * Math.sign(worked.rotation);
  return (station, sense) => (loadRatioAt(job, restraint, 1, station) * sense * reference < 0 ? -1 : 1);
}

function bentPart(restraint: Restraint, member: Job['member']): BentPart {
  if (restraint.plasticModulus !== null) {
    return {
      plasticModulus: restraint.plasticModulus.value,
      how: `plastic modulus as stated (${restraint.plasticModulus.source})`,
    };
  }
  const { flangeWidth, flangeThickness } = member;
  // Job checks make sure that depth and web thickness are there where a part needs them.
  const web = member.webThickness ?? 0;
  const depth = member.depth ?? 0;
  switch (restraint.part) {
    case 'flange':
      return {
        plasticModulus: bendingProperties(plateSection(flangeWidth, flangeThickness), 'vertical')
          .plasticModulus,
        how: 'the flange plate bent in its own plane, t·b²/4',
      };
    case 'flange-with-web':
      return {
        plasticModulus: bendingProperties(
          teeSection(flangeWidth, flangeThickness, restraint.webPart, web),
          'vertical',
        ).plasticModulus,
        how: 'the flange plate and a part of the web, bent in the plane of the flange',
      };
    case 'member-sideways':
      return {
        plasticModulus: bendingProperties(iSection(depth, flangeWidth, flangeThickness, web), 'vertical')
          .plasticModulus,
        how: 'the whole member bent sideways, three plates without fillets',
      };
    case 'member-upright':
      return {
        plasticModulus: bendingProperties(iSection(depth, flangeWidth, flangeThickness, web), 'horizontal')
          .plasticModulus,
        how: 'the whole member bent upright, three plates without fillets (1 to 1.6 % low for a rolled shape)',
      };
  }
}

import type { LineFit, Zone } from '../analysis.ts';
import type { Jack, Job, Line, Restraint } from '../job/job.ts';
import {
  type Axis,
  type BendingProperties,
  bendingProperties,
  type Rectangle,
} from '../section/rectangles.ts';
import { iSection, plateSection, teeSection } from '../section/shapes.ts';
import { type JackingCeiling, jackingCeiling } from './jacking-ceiling.ts';
import { loadLimit } from './load-limit.ts';
import { type LockedIn, lockedInMoment } from './locked-in.ts';
import { bendingOf, kinksOf, type PushingForce, type SetUpGeometry } from './moment-set-up.ts';

/** The part that bends, with its plastic modulus and how it was found. */
interface BentPart {
  /** m³ */
  readonly plasticModulus: number;
  /** Second moment of area, m⁴, and elastic section modulus, m³, from the dimensions; null where one is missing. */
  readonly inertia: number | null;
  readonly elasticModulus: number | null;
  /** In words, for the card and the report. */
  readonly how: string;
}

/** Moments at one station with the jacks at the ceiling, N·m, signed alike. */
export interface DiagramPoint {
  readonly station: number;
  /** What stands there, in words: bearing, diaphragm, support, a jack, a zone. */
  readonly what: string;
  readonly jacking: number;
  /** Null where it is not known. */
  readonly lockedIn: number | null;
  readonly lockedInU: number | null;
  /** Jacking moment, with what is locked in where it acts the same way, over the plastic moment. */
  readonly share: number;
}

/** What one support must hold with the jacks at the ceiling, N, positive against the jacks. */
export interface SupportForce {
  readonly station: number;
  readonly what: string;
  readonly force: number;
}

export interface JobRestraint {
  readonly setUp: SetUpGeometry;
  readonly part: BentPart;
  /** Null where the job has no jack. */
  readonly ceiling: JackingCeiling | null;
  /** What the blow left in the pushed line; null where the fit does not know it. */
  readonly lockedIn: LockedIn | null;
  /** Which way the jacks push along the line's offsets; null where neither the job nor a bend says. */
  readonly sense: 1 | -1 | null;
  /** Moments at supports, jacks and zones, increasing stations; empty without a ceiling. */
  readonly diagram: readonly DiagramPoint[];
  readonly reactions: readonly SupportForce[];
}

/** A line with its fit, as an analysis has them. */
type FittedLine = { readonly line: Line; readonly fit: LineFit };

/**
 * What the job says about jacking, worked out; null where it says nothing.
 *
 * @param fitted the lines with their fits: what the blow left locked in and which way the jacks push are taken from the
 *   line they push along. Without it neither is known.
 */
export function restraintOfJob(job: Job, fitted: readonly FittedLine[] = []): JobRestraint | null {
  const { restraint, member, jacks } = job;
  if (restraint === null) return null;
  const part = bentPart(restraint, member);
  const setUp = geometryOf(restraint);
  const pushed = fitted.find(({ line }) => line.name === restraint.line) ?? null;
  const lockedIn =
    pushed === null || part.inertia === null
      ? null
      : lockedInMoment(pushed.fit.elastic, pushed.line.bearings, member.elasticModulus * part.inertia);
  const placed = jacks.flatMap((jack) =>
    jack.station === null ? [] : [{ ...jack, station: jack.station, push: pushOf(jack) }],
  );
  const zones = pushed?.fit.zones ?? [];
  const sense = jacks.some((jack) => jack.push !== null) ? 1 : senseOf(setUp, forcesOf(jacks, 1), zones);
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
          pumpRating: restraint.pumpRating,
          lockedIn,
          sense,
        });
  return {
    setUp,
    part,
    ceiling,
    lockedIn,
    sense,
    diagram: ceiling === null ? [] : diagramOf(job, setUp, ceiling, lockedIn, sense, zones),
    reactions: (ceiling?.reactions ?? []).map((r) => ({
      ...r,
      what: supportName(job, restraint, r.station),
    })),
  };
}

function geometryOf({ setUp, supports }: Restraint): SetUpGeometry {
  const [from, to] = [supports[0]!, supports.at(-1)!];
  return setUp === 'continuous'
    ? { kind: setUp, from, to, supports: supports.map((station) => ({ station, compliance: 0 })) }
    : { kind: setUp, from, to };
}

function pushOf(jack: Jack): 1 | -1 {
  return jack.push === 'negative' ? -1 : 1;
}

/** Forces of all placed jacks at this gauge pressure, N. */
function forcesOf(jacks: Job['jacks'], pressure: number): PushingForce[] {
  return jacks.flatMap((jack) =>
    jack.station === null ? [] : [{ station: jack.station, force: pressure * jack.ramArea * pushOf(jack) }],
  );
}

/**
 * Jacks are taken to push so as to straighten the bend they bear on most (its rotation times their moment there): that
 * is what they are put there for. A bend whose slope grows with station (rotation above zero) is hollow toward +, and
 * is straightened by a push toward + between supports.
 */
function senseOf(
  setUp: SetUpGeometry,
  forces: readonly PushingForce[],
  zones: readonly Zone[],
): 1 | -1 | null {
  if (forces.length === 0) return null;
  const { momentAt } = bendingOf(setUp, forces);
  let most = 0;
  for (const zone of zones) {
    const work = momentAt(zone.core.centre) * zone.rotation;
    if (Math.abs(work) > Math.abs(most)) most = work;
  }
  return most === 0 ? null : most > 0 ? 1 : -1;
}

function diagramOf(
  job: Job,
  setUp: SetUpGeometry,
  ceiling: JackingCeiling,
  lockedIn: LockedIn | null,
  sense: 1 | -1 | null,
  zones: readonly Zone[],
): DiagramPoint[] {
  const forces = forcesOf(job.jacks, ceiling.pressure);
  const { momentAt } = bendingOf(setUp, forces);
  const [low, high] = [Math.min(setUp.from, setUp.to), Math.max(setUp.from, setUp.to)];
  const centres = zones.map((zone) => zone.core.centre);
  const places = [...kinksOf(setUp, forces), ...centres, ...(lockedIn?.stations ?? [])]
    .filter((x) => x >= low && x <= high)
    .sort((a, b) => a - b);
  return [...new Set(places)].map((station): DiagramPoint => {
    const jacking = momentAt(station) * (sense ?? 1);
    const locked = lockedIn?.momentAt(station) ?? null;
    const same = locked === null ? 0 : sense === null || locked * jacking > 0 ? Math.abs(locked) : 0;
    const names = [
      ...job.jacks.filter((jack) => jack.station === station).map((jack) => jack.name),
      ...zones.filter((zone) => zone.core.centre === station).map((zone) => `zone ${zone.zone}`),
    ];
    const support = supportName(job, job.restraint!, station);
    return {
      station,
      what: [...(support === '' ? [] : [support]), ...names].join(', '),
      jacking,
      lockedIn: locked,
      lockedInU: lockedIn?.uAt(station) ?? null,
      share: (Math.abs(jacking) + same) / ceiling.plasticMoment,
    };
  });
}

/** What a station is to the member: bearing, diaphragm or a support of another kind; empty where none stands there. */
function supportName(job: Job, restraint: Restraint, station: number): string {
  const line = job.lines.find(({ name }) => name === restraint.line);
  if (line?.bearings.includes(station)) return 'bearing';
  if (job.member.diaphragms?.includes(station)) return 'diaphragm';
  return restraint.supports.includes(station) ? 'support' : '';
}

/**
 * Jacking moment over plastic moment at one station with every jack at this gauge pressure (Pa). Signed: two stations
 * with the same sign are bent the same way (beyond a support the moment turns round).
 */
export function loadRatioAt(job: Job, restraint: JobRestraint, pressure: number, station: number): number {
  const plasticMoment = restraint.part.plasticModulus * job.member.yieldStress;
  return bendingOf(restraint.setUp, forcesOf(job.jacks, pressure)).momentAt(station) / plasticMoment;
}

/**
 * Whether the jacks work with (+1) or against (−1) the straightening of a bend of this sense at a station. They push as
 * the job says, or so as to straighten the bend of this line that they bear on most.
 */
export function jackSense(
  job: Job,
  restraint: JobRestraint,
  zones: readonly Zone[],
): (station: number, sense: number) => 1 | -1 {
  const push = restraint.sense ?? senseOf(restraint.setUp, forcesOf(job.jacks, 1), zones);
  if (push === null) return () => 1;
  return (station, sense) => (loadRatioAt(job, restraint, 1, station) * sense * push < 0 ? -1 : 1);
}

function bentPart(restraint: Restraint, member: Job['member']): BentPart {
  const { section, axis, how } = bentSection(restraint.part, restraint.webPart, member);
  const found: BendingProperties | null = section === null ? null : bendingProperties(section, axis);
  const stated = restraint.plasticModulus;
  return {
    // Job checks make sure that depth and web thickness are there where a part needs them.
    plasticModulus: stated?.value ?? found!.plasticModulus,
    inertia: found?.inertia ?? null,
    elasticModulus: found?.elasticModulus ?? null,
    how: stated === null ? how : `plastic modulus as stated (${stated.source})`,
  };
}

function bentSection(
  part: Restraint['part'],
  webPart: number,
  { flangeWidth, flangeThickness, webThickness, depth }: Job['member'],
): { section: readonly Rectangle[] | null; axis: Axis; how: string } {
  switch (part) {
    case 'flange':
      return {
        section: plateSection(flangeWidth, flangeThickness),
        axis: 'vertical',
        how: 'the flange plate bent in its own plane, t·b²/4',
      };
    case 'flange-with-web':
      return {
        section:
          webThickness === null ? null : teeSection(flangeWidth, flangeThickness, webPart, webThickness),
        axis: 'vertical',
        how: 'the flange plate and a part of the web, bent in the plane of the flange',
      };
    case 'member-sideways':
    case 'member-upright':
      return {
        section:
          webThickness === null || depth === null
            ? null
            : iSection(depth, flangeWidth, flangeThickness, webThickness),
        axis: part === 'member-sideways' ? 'vertical' : 'horizontal',
        how:
          part === 'member-sideways'
            ? 'the whole member bent sideways, three plates without fillets'
            : 'the whole member bent upright, three plates without fillets (1 to 1.6 % low for a rolled shape)',
      };
  }
}

import type { LineFit, Zone } from '../analysis.ts';
import type { Jack, Job, Line, Member, Restraint } from '../job/job.ts';
import { supportsOfLine } from '../job/supports.ts';
import {
  type Axis,
  type BendingProperties,
  bendingProperties,
  type Rectangle,
} from '../section/rectangles.ts';
import { iSection, plateSection, teeSection } from '../section/shapes.ts';
import { type Held, heldBy } from './held.ts';
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
  /** The same with rigid diaphragms and with soft ones (`Held.ends`); null where none gives. `jacking` is of the one that bends most there. */
  readonly ends: { readonly rigid: number; readonly soft: number } | null;
  /** Null where it is not known. */
  readonly lockedIn: number | null;
  readonly lockedInU: number | null;
  /** Jacking moment, with what is locked in where it acts the same way, over the plastic moment. */
  readonly share: number;
}

/** The most one support must hold with the jacks at the ceiling, over the ways diaphragms may give, N, positive against the jacks. */
export interface SupportForce {
  readonly station: number;
  readonly what: string;
  readonly force: number;
}

export interface JobRestraint {
  /** With diaphragms as likely as they give: what heats are expected to do is worked out with it. */
  readonly setUp: SetUpGeometry;
  /** The ways the diaphragms may give; the worst of them makes the ceiling. */
  readonly held: Held;
  /** Which of them the ceiling is of; null where there is one only, or no ceiling. */
  readonly governs: 'rigid' | 'likely' | 'soft' | null;
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
  const pushed = fitted.find(({ line }) => line.name === restraint.line) ?? null;
  const held = heldBy(job, restraint, pushed?.fit.elastic ?? []);
  const setUp = held.likely;
  const lockedIn =
    pushed === null || part.inertia === null
      ? null
      : lockedInMoment(pushed.fit.elastic, endsOf(pushed.line, member), member.elasticModulus * part.inertia);
  const placed = jacks.flatMap((jack) =>
    jack.station === null ? [] : [{ ...jack, station: jack.station, push: pushOf(jack) }],
  );
  const zones = pushed?.fit.zones ?? [];
  const sense = jacks.some((jack) => jack.push !== null) ? 1 : senseOf(setUp, forcesOf(jacks, 1), zones);
  const ceilingIn = (geometry: SetUpGeometry) =>
    jackingCeiling({
      plasticModulus: part.plasticModulus,
      yieldStress: member.yieldStress,
      limit: loadLimit(restraint.importance, restraint.fraction),
      setUp: geometry,
      jacks: placed,
      gaugeDivision: restraint.gaugeDivision,
      pumpRating: restraint.pumpRating,
      lockedIn,
      sense,
    });
  const worst = placed.length === 0 ? null : worstOf(held, placed, ceilingIn);
  const ceiling =
    worst === null ? null : { ...worst.ceiling, reactions: reactionsOf(held, jacks, worst.ceiling) };
  return {
    setUp,
    held,
    governs: worst?.governs ?? null,
    part,
    ceiling,
    lockedIn,
    sense,
    diagram: ceiling === null ? [] : diagramOf(job, held, ceiling, lockedIn, sense, zones),
    reactions: (ceiling?.reactions ?? []).map((r) => ({
      ...r,
      what: supportName(job, restraint, r.station),
    })),
  };
}

/** Every way the diaphragms may give, the likely one first. */
function waysOf({
  likely,
  ends,
}: Held): { readonly name: 'likely' | 'rigid' | 'soft'; readonly setUp: SetUpGeometry }[] {
  const ways = [{ name: 'likely' as const, setUp: likely }];
  return ends === null
    ? ways
    : [...ways, { name: 'rigid' as const, setUp: ends.rigid }, { name: 'soft' as const, setUp: ends.soft }];
}

/** The lowest ceiling of all ways the diaphragms may give. A way in which every jack stands on steel that does not give bends nothing. */
function worstOf(
  held: Held,
  jacks: readonly { readonly station: number }[],
  ceilingIn: (setUp: SetUpGeometry) => JackingCeiling,
): { readonly ceiling: JackingCeiling; readonly governs: JobRestraint['governs'] } {
  const ways = waysOf(held);
  const bending = ways.filter(({ setUp }) => !jacks.every(({ station }) => isRigidAt(setUp, station)));
  const all = (bending.length === 0 ? ways : bending).map(({ name, setUp }) => ({
    governs: name,
    ceiling: ceilingIn(setUp),
  }));
  const worst = all.reduce((a, b) => (b.ceiling.exactPressure < a.ceiling.exactPressure ? b : a));
  return held.ends === null ? { ...worst, governs: null } : worst;
}

function isRigidAt(setUp: SetUpGeometry, station: number): boolean {
  return (
    setUp.kind === 'continuous' &&
    setUp.supports.some((each) => each.compliance === 0 && Math.abs(each.station - station) < 1e-6)
  );
}

/** The most each support must hold at the ceiling, over the ways the diaphragms may give, N. */
function reactionsOf(held: Held, jacks: Job['jacks'], ceiling: JackingCeiling): JackingCeiling['reactions'] {
  const forces = forcesOf(jacks, ceiling.pressure);
  const all = waysOf(held).map(({ setUp }) => bendingOf(setUp, forces).reactions);
  return all[0]!.map(({ station, force }, i) => ({
    station,
    force: all.reduce(
      (most, one) => (Math.abs(one[i]!.force) > Math.abs(most) ? one[i]!.force : most),
      force,
    ),
  }));
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
  held: Held,
  ceiling: JackingCeiling,
  lockedIn: LockedIn | null,
  sense: 1 | -1 | null,
  zones: readonly Zone[],
): DiagramPoint[] {
  const forces = forcesOf(job.jacks, ceiling.pressure);
  const setUp = held.likely;
  const ways = waysOf(held).map((way) => ({ ...way, bending: bendingOf(way.setUp, forces) }));
  const [low, high] = [Math.min(setUp.from, setUp.to), Math.max(setUp.from, setUp.to)];
  const centres = zones.map((zone) => zone.core.centre);
  const places = [...kinksOf(setUp, forces), ...centres, ...(lockedIn?.stations ?? [])]
    .filter((x) => x >= low && x <= high)
    .sort((a, b) => a - b);
  return [...new Set(places)].map((station): DiagramPoint => {
    const locked = lockedIn?.momentAt(station) ?? null;
    const inWays = ways.map(({ name, bending }) => {
      const moment = bending.momentAt(station) * (sense ?? 1);
      const same = locked === null ? 0 : sense === null || locked * moment > 0 ? Math.abs(locked) : 0;
      return { name, moment, together: Math.abs(moment) + same };
    });
    const most = inWays.reduce((a, b) => (b.together > a.together ? b : a));
    const of = (name: 'rigid' | 'soft') => inWays.find((way) => way.name === name)?.moment;
    const [rigid, soft] = [of('rigid'), of('soft')];
    const names = [
      ...job.jacks.filter((jack) => jack.station === station).map((jack) => jack.name),
      ...zones.filter((zone) => zone.core.centre === station).map((zone) => `zone ${zone.zone}`),
    ];
    const support = supportName(job, job.restraint!, station);
    return {
      station,
      what: [...(support === '' ? [] : [support]), ...names].join(', '),
      jacking: most.moment,
      ends: rigid === undefined || soft === undefined ? null : { rigid, soft },
      lockedIn: locked,
      lockedInU: lockedIn?.uAt(station) ?? null,
      share: most.together / ceiling.plasticMoment,
    };
  });
}

/** First and last bearing of the steel the line reads. */
function endsOf(line: Line, member: Member): readonly [number, number] {
  const { from, to } = supportsOfLine(line, member);
  return [from, to];
}

/** What a station is to the member: bearing, diaphragm or a support of another kind; empty where none stands there. */
function supportName(job: Job, restraint: Restraint, station: number): string {
  const line = job.lines.find(({ name }) => name === restraint.line);
  if (line?.bearings.includes(station) || job.member.bearings?.includes(station)) return 'bearing';
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

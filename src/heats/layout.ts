import { fcnnlsVector } from 'ml-fcnnls';
import type { LineFit } from '../analysis.ts';
import type { JobUnits, Line, Member } from '../job/job.ts';
import { heldAt } from '../survey/crest.ts';
import { heldShape } from '../survey/held-bend.ts';
import { INCH } from '../units/factors.ts';
import type { HeatLimits } from './heat-limits.ts';
import type { PlannedVee } from './planned-vee.ts';
import type { ZoneHeats } from './zone-heats.ts';

interface ProposedVee {
  readonly zone: string;
  /** Station of the vee's centre line, m. */
  readonly station: number;
  /** Edge the apex lies at: the line's positive or negative side. The open end is at the other edge. */
  readonly apex: 'positive' | 'negative';
  /** Rotation counted on, rad, and what it rests on: this zone's heats so far, or the published expectation. */
  readonly rotation: number;
  readonly basis: 'observed' | 'formula';
  /** Heats of this size that would best be spent here in all, by the fit. */
  readonly heatsInAll: number;
}

/** Layout of the next cycle's vees on one line: a proposal for the engineer, never an instruction. */
export interface LayoutProposal {
  readonly line: string;
  readonly vees: readonly ProposedVee[];
  /** Largest |shape| of the zones' residual bends between the bearings, before and after these vees, m. */
  readonly largestBefore: number;
  readonly largestAfter: number;
  readonly reason: string;
}

const GRID = 240;
/** What stations of heats are chalked to, m: half an inch, a centimetre. Vees are held apart as chalked, or the spacing would be lost in rounding. */
const CHALK: Readonly<Record<JobUnits, number>> = { us: INCH / 2, si: 0.01 };
/** A place that wants less than this share of a heat gets none: a whole heat would turn it past straight. */
const WORTH_A_HEAT = 0.5;
/** Sets of vees of each size looked at further. */
const KEPT = 40;

/** Vees of one cycle, as places in the list of candidates, with the shape they leave and its sum of squares. */
interface VeeSet {
  readonly vees: readonly number[];
  readonly left: readonly number[];
  readonly squares: number;
}

/**
 * Where the next vees take most out of the residual shape.
 *
 * The residual shape is that of the zones' present rotations, each spread evenly with the centroid and spread of the
 * bend as found, held at the bearings, piers between them too: the chord through them is taken off, or the elastic line. Candidates stand in the zones' cores, a
 * spacing apart: a vee belongs where the steel is bent (FHWA-IF-08-999: vees over the yield zone), not where it only
 * just yielded. One heat at s turns the member there by what the zone's heats have done so far (or by the published
 * expectation where they have not shown it yet), which moves x by the kink (x − s)₊, held alike. Non-negative
 * least squares finds how many heats each candidate would take in all. Of those worth at least half a heat, the set
 * for the next cycle is the one that leaves the smallest sum of squares of the shape, none closer than the spacing to
 * another: sets grow by one vee from the best of each size (a beam search), for a bulge and the counter-bends beside
 * it may only come out together. (Taking every candidate at once would straighten the small counter-bends first and
 * make the bulge larger.)
 * A vee shortens the side of its open end, so the open end goes on the outside of the bend.
 *
 * @param most vees in one cycle
 */
export function proposeLayout(
  line: Line,
  member: Member,
  fit: LineFit,
  zones: readonly ZoneHeats[],
  vee: PlannedVee,
  limits: HeatLimits,
  most: number,
  units: JobUnits,
): LayoutProposal {
  const chalk = CHALK[units];
  const apart = Math.ceil(limits.spacing.value / chalk - 1e-6) * chalk;
  const [start, end] = line.bearings;
  const grid = Array.from({ length: GRID + 1 }, (_, i) => start + ((end - start) * i) / GRID);
  const held = heldAt(line, member);
  const onGrid = (free: (x: number) => number) => grid.map(heldShape(free, held));
  const shape = grid.map(() => 0);
  const candidates: { zone: ZoneHeats; station: number; rotation: number; basis: ProposedVee['basis'] }[] =
    [];
  for (const zone of zones) {
    const extent = fit.zones.find((z) => z.zone === zone.zone)!;
    const { core } = extent;
    // An evenly bent length l has a spread of l/√12.
    const half = Math.sqrt(3) * core.spread;
    const rotation = zone.sense * zone.remaining;
    const bend = onGrid((x) => rotation * ramp(x, core.centre - half, core.centre + half));
    bend.forEach((value, i) => {
      shape[i]! += value;
    });
    const perHeat = heatRotation(zone);
    if (perHeat === null || zone.remaining <= 2 * zone.remainingU) continue;
    // The edges are uncertain, and heat outside the zone bends straight steel: vees keep inside by that much.
    const from = Math.max(core.from, extent.from + extent.fromU);
    const to = Math.min(core.to, extent.to - extent.toU);
    for (const station of to > from ? spread(from, to, apart) : [core.centre]) {
      candidates.push({ zone, station, rotation: zone.sense * perHeat.rotation, basis: perHeat.basis });
    }
  }
  const largestBefore = largest(shape);
  const none = (reason: string): LayoutProposal => ({
    line: line.name,
    vees: [],
    largestBefore,
    largestAfter: largestBefore,
    reason,
  });
  if (!vee.fits)
    return none(
      'no vee is proposed: the one planned is outside the limits in force, or no vee meets them all (see the findings)',
    );
  if (candidates.length === 0)
    return none('no plastic zone with a bend left that a known heat could take out');

  const columns = candidates.map((c) => onGrid((x) => c.rotation * Math.max(0, x - c.station)));
  // Scaled to order one: the solver's tolerances are absolute.
  const scale = Math.max(largestBefore, 1e-9);
  const rows = grid.map((_, i) => columns.map((column) => column[i]! / scale));
  const heats = fcnnlsVector(
    rows,
    shape.map((value) => value / scale),
  ).K.to1DArray();

  // As chalked: two stations rounded apart from each other may stand a mark nearer than they are.
  const marks = candidates.map(({ station }) => Math.round(station / chalk));
  const steps = Math.round(apart / chalk);
  const worth = candidates.map((_, i) => i).filter((i) => heats[i]! >= WORTH_A_HEAT);
  let best: VeeSet = { vees: [], left: shape, squares: sumOfSquares(shape) };
  let kept: readonly VeeSet[] = [best];
  for (let size = 1; size <= Math.min(most, worth.length); size++) {
    const grown = new Map<string, VeeSet>();
    for (const set of kept) {
      for (const i of worth) {
        if (set.vees.some((k) => Math.abs(marks[i]! - marks[k]!) < steps)) continue;
        const vees = [...set.vees, i].sort((a, b) => a - b);
        const key = vees.join();
        if (grown.has(key)) continue;
        const left = set.left.map((value, row) => value - columns[i]![row]!);
        grown.set(key, { vees, left, squares: sumOfSquares(left) });
      }
    }
    kept = [...grown.values()].sort((a, b) => a.squares - b.squares).slice(0, KEPT);
    if (kept.length > 0 && kept[0]!.squares < best.squares) best = kept[0]!;
  }
  const { vees: taken, left: after } = best;
  if (taken.length === 0) return none('no heats in one cycle would make the shape smaller');
  const vees = taken
    .map((i): ProposedVee => {
      const { zone, station, rotation, basis } = candidates[i]!;
      return {
        zone: zone.zone,
        station,
        // Slope growing along the stations (sense +) is hollow toward +: its outside, and the open end, are on the − side.
        apex: zone.sense > 0 ? 'positive' : 'negative',
        rotation: Math.abs(rotation),
        basis,
        heatsInAll: heats[i]!,
      };
    })
    .sort((a, b) => a.station - b.station);
  return {
    line: line.name,
    vees,
    largestBefore,
    largestAfter: largest(after),
    reason: `the ${vees.length} vees that take most out of the shape, at most ${most} in a cycle; ${vee.how}`,
  };
}

/** Rotation to count on from one heat, rad: what heats did here so far where that is reliably above zero, else the published expectation. */
function heatRotation(zone: ZoneHeats): { rotation: number; basis: ProposedVee['basis'] } | null {
  if (zone.unit === 'heats' && zone.left.perHeat > 2 * zone.left.perHeatU) {
    return { rotation: zone.left.perHeat, basis: 'observed' };
  }
  return zone.planned !== null && zone.planned > 0 ? { rotation: zone.planned, basis: 'formula' } : null;
}

/** As many stations a spacing apart as fit into a stretch, centred in it; one in the middle of a stretch shorter than that. */
function spread(from: number, to: number, spacing: number): number[] {
  const gaps = Math.floor((to - from) / spacing + 1e-9);
  const first = (from + to - gaps * spacing) / 2;
  return Array.from({ length: gaps + 1 }, (_, i) => first + i * spacing);
}

/** Deviation of a unit rotation spread evenly from a to b: 0, (x − a)²/(2(b − a)), x − (a + b)/2. */
function ramp(x: number, a: number, b: number): number {
  if (x <= a) return 0;
  return x >= b ? x - (a + b) / 2 : (x - a) ** 2 / (2 * (b - a));
}

function sumOfSquares(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value * value, 0);
}

function largest(values: readonly number[]): number {
  return Math.max(...values.map(Math.abs));
}

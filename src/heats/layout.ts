import { fcnnlsVector } from 'ml-fcnnls';
import type { LineFit } from '../analysis.ts';
import type { Line } from '../job/job.ts';
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
/** A place that wants less than this share of a heat gets none: a whole heat would turn it past straight. */
const WORTH_A_HEAT = 0.5;

/**
 * Where the next vees take most out of the residual shape.
 *
 * The residual shape is that of the zones' present rotations, chord through the bearings taken off (the ends are
 * held). Candidates stand in the plastic zones, a spacing apart; one heat at s turns the member there by what the
 * zone's heats have done so far (or by the published expectation where they have not shown it yet), which moves x
 * by the kink (x − s)₊ less its chord. Non-negative least squares finds how many heats each candidate would
 * take in all. Of those worth at least half a heat, vees for the next cycle are taken one by one (two at a
 * time where one alone does not help), each the one that makes the sum of squares of the shape smallest, while it
 * falls; none stands closer than the spacing to another. (Taking all at once would straighten the small counter-bends first and make the bulge larger.)
 * A vee shortens the side of its open end, so the open end goes on the outside of the bend.
 *
 * @param most vees in one cycle
 */
export function proposeLayout(
  line: Line,
  fit: LineFit,
  zones: readonly ZoneHeats[],
  vee: PlannedVee,
  limits: HeatLimits,
  most: number,
): LayoutProposal {
  const [start, end] = line.bearings;
  const grid = Array.from({ length: GRID + 1 }, (_, i) => start + ((end - start) * i) / GRID);
  const shape = grid.map(() => 0);
  const candidates: { zone: ZoneHeats; station: number; rotation: number; basis: ProposedVee['basis'] }[] =
    [];
  for (const zone of zones) {
    const extent = fit.zones.find((z) => z.zone === zone.zone)!;
    const rotation = zone.sense * zone.remaining;
    const bend = offChord((x) => rotation * ramp(x, extent.from, extent.to), grid);
    bend.forEach((value, i) => {
      shape[i]! += value;
    });
    const perHeat = heatRotation(zone);
    if (perHeat === null || zone.remaining <= 2 * zone.remainingU) continue;
    // The edges are uncertain, and heat outside the zone bends straight steel: vees keep inside by that much.
    for (const station of spread(extent.from + extent.fromU, extent.to - extent.toU, limits.spacing.value)) {
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
  if (candidates.length === 0)
    return none('no plastic zone with a bend left that a known heat could take out');

  const columns = candidates.map((c) => offChord((x) => c.rotation * Math.max(0, x - c.station), grid));
  // Scaled to order one: the solver's tolerances are absolute.
  const scale = Math.max(largestBefore, 1e-9);
  const rows = grid.map((_, i) => columns.map((column) => column[i]! / scale));
  const heats = fcnnlsVector(
    rows,
    shape.map((value) => value / scale),
  ).K.to1DArray();

  const spacing = limits.spacing.value - 1e-9;
  const apart = (a: number, b: number) =>
    Math.abs(candidates[a]!.station - candidates[b]!.station) >= spacing;
  const worth = candidates.map((_, i) => i).filter((i) => heats[i]! >= WORTH_A_HEAT);
  const without = (from: readonly number[], vees: readonly number[]) =>
    from.map((value, row) => value - vees.reduce((sum, i) => sum + columns[i]![row]!, 0));
  let taken: readonly number[] = [];
  let after: readonly number[] = shape;
  for (;;) {
    const free = worth.filter((i) => taken.every((k) => apart(i, k)));
    const pairs = free.flatMap((i) => free.filter((k) => k < i && apart(i, k)).map((k) => [k, i]));
    const step =
      bestOf(
        free.map((i) => [i]),
        after,
        without,
      ) ?? bestOf(pairs, after, without);
    if (step === null || taken.length + step.length > most) break;
    taken = [...taken, ...step];
    after = without(after, step);
  }
  if (taken.length === 0) return none('no single heat would make the shape smaller');
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

/** The set of vees that leaves the smallest sum of squares, or null where none makes it smaller. */
function bestOf(
  sets: readonly (readonly number[])[],
  shape: readonly number[],
  without: (from: readonly number[], vees: readonly number[]) => number[],
): readonly number[] | null {
  let best: readonly number[] | null = null;
  let least = sumOfSquares(shape);
  for (const vees of sets) {
    const left = sumOfSquares(without(shape, vees));
    if (left < least) [best, least] = [vees, left];
  }
  return best;
}

/** Rotation to count on from one heat, rad: what heats did here so far where that is reliably above zero, else the published expectation. */
function heatRotation(zone: ZoneHeats): { rotation: number; basis: ProposedVee['basis'] } | null {
  if (zone.unit === 'heats' && zone.left.perHeat > 2 * zone.left.perHeatU) {
    return { rotation: zone.left.perHeat, basis: 'observed' };
  }
  return zone.planned !== null && zone.planned > 0 ? { rotation: zone.planned, basis: 'formula' } : null;
}

/** As many stations a spacing apart as fit into a zone, centred in it; one in the middle of a zone shorter than that. */
function spread(from: number, to: number, spacing: number): number[] {
  if (to <= from) return [(from + to) / 2];
  const gaps = Math.floor((to - from) / spacing + 1e-9);
  const first = (from + to - gaps * spacing) / 2;
  return Array.from({ length: gaps + 1 }, (_, i) => first + i * spacing);
}

/** Deviation of a unit rotation spread evenly from a to b: 0, (x − a)²/(2(b − a)), x − (a + b)/2. */
function ramp(x: number, a: number, b: number): number {
  if (x <= a) return 0;
  return x >= b ? x - (a + b) / 2 : (x - a) ** 2 / (2 * (b - a));
}

function offChord(shape: (x: number) => number, grid: readonly number[]): number[] {
  const [x0, x1] = [grid[0]!, grid.at(-1)!];
  const [y0, y1] = [shape(x0), shape(x1)];
  return grid.map((x) => shape(x) - y0 - ((y1 - y0) * (x - x0)) / (x1 - x0));
}

function sumOfSquares(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value * value, 0);
}

function largest(values: readonly number[]): number {
  return Math.max(...values.map(Math.abs));
}

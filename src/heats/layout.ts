import { fcnnlsVector } from 'ml-fcnnls';
import type { LineFit } from '../analysis.ts';
import type { Line } from '../job/job.ts';
import type { HeatLimits } from './heat-limits.ts';
import type { PlannedVee } from './planned-vee.ts';
import type { ZoneHeats } from './zone-heats.ts';

export interface ProposedVee {
  readonly zone: string;
  /** Station of the vee's centre line, m. */
  readonly station: number;
  /** Edge the apex lies at: the line's positive or negative side. The open end is at the other edge. */
  readonly apex: 'positive' | 'negative';
  /** Rotation counted on, rad. */
  readonly rotation: number;
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
 * take; those worth at least half a heat get one vee now, strongest first, none closer than the spacing to
 * another. A vee shortens the side of its open end, so the open end goes on the outside of the bend.
 */
export function proposeLayout(
  line: Line,
  fit: LineFit,
  zones: readonly ZoneHeats[],
  vee: PlannedVee,
  limits: HeatLimits,
): LayoutProposal {
  const [start, end] = line.bearings;
  const grid = Array.from({ length: GRID + 1 }, (_, i) => start + ((end - start) * i) / GRID);
  const shape = grid.map(() => 0);
  const candidates: { zone: ZoneHeats; station: number; rotation: number }[] = [];
  for (const zone of zones) {
    const extent = fit.zones.find((z) => z.zone === zone.zone)!;
    const rotation = zone.sense * zone.remaining;
    const bend = offChord((x) => rotation * ramp(x, extent.from, extent.to), grid);
    bend.forEach((value, i) => {
      shape[i]! += value;
    });
    const perHeat = heatRotation(zone);
    if (perHeat === null || zone.remaining <= 2 * zone.remainingU) continue;
    for (const station of spread(extent.from, extent.to, limits.spacing.value)) {
      candidates.push({ zone, station, rotation: zone.sense * perHeat });
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

  const order = candidates.map((_, i) => i).sort((a, b) => heats[b]! - heats[a]! || a - b);
  const taken: number[] = [];
  for (const i of order) {
    if (heats[i]! < WORTH_A_HEAT) break;
    const near = taken.some(
      (k) => Math.abs(candidates[k]!.station - candidates[i]!.station) < limits.spacing.value - 1e-9,
    );
    if (!near) taken.push(i);
  }
  if (taken.length === 0) return none('what is left is less than half of one heat’s work at every place');
  const after = shape.map((value, row) => value - taken.reduce((sum, i) => sum + columns[i]![row]!, 0));
  const vees = taken
    .map((i): ProposedVee => {
      const { zone, station, rotation } = candidates[i]!;
      return {
        zone: zone.zone,
        station,
        // Slope growing along the stations (sense +) is hollow toward +: its outside, and the open end, are on the − side.
        apex: zone.sense > 0 ? 'positive' : 'negative',
        rotation: Math.abs(rotation),
        heatsInAll: heats[i]!,
      };
    })
    .sort((a, b) => a.station - b.station);
  return {
    line: line.name,
    vees,
    largestBefore,
    largestAfter: largest(after),
    reason: `${vee.how}; at least ${limits.spacing.source}`,
  };
}

/** Rotation to count on from one heat, rad: what heats did here so far where that is reliably above zero, else the published expectation. */
function heatRotation(zone: ZoneHeats): number | null {
  const seen = zone.unit === 'heats' && zone.left.perHeat > 2 * zone.left.perHeatU;
  const rotation = seen ? zone.left.perHeat : zone.planned;
  return rotation !== null && rotation > 0 ? rotation : null;
}

/** As many stations a spacing apart as fit into a zone, centred in it. */
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

function offChord(shape: (x: number) => number, grid: readonly number[]): number[] {
  const [x0, x1] = [grid[0]!, grid.at(-1)!];
  const [y0, y1] = [shape(x0), shape(x1)];
  return grid.map((x) => shape(x) - y0 - ((y1 - y0) * (x - x0)) / (x1 - x0));
}

function largest(values: readonly number[]): number {
  return Math.max(...values.map(Math.abs));
}

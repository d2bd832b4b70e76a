import type { JobUnits, Line } from '../job/job.ts';
import { sameStation } from './book.ts';
import { evenStations } from './even-stations.ts';
import type { Cell, Sheet } from './job-bundle.ts';

/** Widest spacing at which the crest of a bulge is told well (`npm run bench:panels`), m. */
const WIDEST = { us: 4 * 0.0254, si: 0.1 };
/** Spacings are whole multiples of this, m; readings keep this far off a held edge, where flange or weld is in the way. */
const STEP = { us: 0.0254, si: 0.025 };
/** Spaces along the shorter side that show a bulge even in a small panel. */
const LEAST_SPACES = 8;

/** Where the readings of a panel are to stand. All lengths in m. */
export interface GridSpec {
  readonly stations: { readonly from: number; readonly to: number; readonly step: number };
  readonly heights: { readonly from: number; readonly to: number; readonly step: number };
}

/** What the page offers for a panel read for the first time: from edge to edge, a step clear of the edges that are held. */
export function usualGrid(line: Pick<Line, 'bearings' | 'panel'>, units: JobUnits): GridSpec {
  const panel = line.panel!;
  const [left, right] = line.bearings;
  const [low, high] = panel.heights;
  const unit = STEP[units];
  const shorter = Math.min(right - left, high - low);
  const step = Math.max(unit, Math.min(WIDEST[units], Math.floor(shorter / LEAST_SPACES / unit) * unit));
  const clear = (side: (typeof panel.held)[number]) => (panel.held.includes(side) ? unit : 0);
  return {
    stations: { from: left + clear('from'), to: right - clear('to'), step },
    heights: { from: low + clear('bottom'), to: high - clear('top'), step },
  };
}

/** Stations and heights of a grid, both ends included; null where the lengths make none, or more than 60 heights. */
export function gridOf(spec: GridSpec): { stations: number[]; heights: number[] } | null {
  const along = evenStations(spec.stations.from, spec.stations.to, spec.stations.step);
  const up = evenStations(spec.heights.from, spec.heights.to, spec.heights.step);
  return along.length === 0 || up.length === 0 || up.length > 60 ? null : { stations: along, heights: up };
}

/** A row of readings of a panel, all at one height: what is keyed one after the other. */
export interface Course {
  /** m */
  readonly height: number;
  /** Places of it with a reading today, and all of them. */
  readonly read: number;
  readonly places: number;
}

/** Heights from the top down, as the panel stands before who reads it; each once. */
export function heightsOf(heights: readonly number[]): number[] {
  const sorted = [...heights].sort((a, b) => b - a);
  return sorted.filter((height, i) => i === 0 || !sameStation(height, sorted[i - 1]!));
}

/** The height of a list that is meant; the first where it is none of them. */
export function chosenHeight(heights: readonly number[], wanted: number | undefined): number | undefined {
  return heights.find((each) => wanted !== undefined && sameStation(each, wanted)) ?? heights[0];
}

/** Whether a reading can stand on a line: panels are read at heights, lines without. */
export function fits(cell: Pick<Cell, 'height'>, line: Pick<Line, 'panel'>): boolean {
  return (cell.height !== undefined) === (line.panel !== undefined);
}

/** Heights put on the list of a panel by hand, m. */
export function givenHeights(sheet: Sheet, line: string): number[] {
  return (sheet.heights ?? []).filter((each) => each.line === line).map((each) => each.height);
}

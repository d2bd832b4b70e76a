import { inertText as inert } from '../inert-text.ts';
import type { Job } from '../job/job.ts';
import { MEASURED } from '../maths/coverage-level.ts';
import { formatDecimal, formatLength, formatUncertainty } from '../units/format-length.ts';
import type { BoltGap, CoverPlateFit, CoverSide } from './cover-plate.ts';
import type { Box } from './opening.ts';

/** Shown wherever an opening or its plate is. */
export const COVER_DEFERRAL =
  'Laid on the map between its readings, the plate flat and rigid. Cut nothing and drill nothing before the engineer has designed opening, plate and bolts, cracks have been followed to their ends, and the load on the web is taken care of; lay out from the two reference edges and check against the steel itself.';

export interface CoverWords {
  readonly station: (m: number) => string;
  readonly small: (m: number) => string;
  /** From the near end and the lower edge of the panel. */
  readonly x: (station: number) => string;
  readonly y: (height: number) => string;
}

export function coverWords(job: Job, fit: Pick<CoverPlateFit, 'line'>): CoverWords {
  const { units } = job;
  const line = job.lines.find((each) => each.name === fit.line)!;
  const small = (m: number) => formatLength(m, { units, as: 'offset', trim: true });
  return {
    station: (m) => formatLength(m, { units, as: 'station', digits: 3 }),
    small,
    x: (station) => small(station - line.bearings[0]),
    y: (height) => small(height - line.panel!.heights[0]),
  };
}

function size(box: Box, small: (m: number) => string): string {
  return `${small(box.to - box.from)} long, ${small(box.high - box.low)} high`;
}

/** Where the two reference edges are, said once beside every set of dimensions. */
export function referenceText(job: Job, fit: CoverPlateFit): string {
  const line = job.lines.find((each) => each.name === fit.line)!;
  const { station } = coverWords(job, fit);
  return `Across from the near end of the panel (station ${station(line.bearings[0])}), up from its lower edge${line.panel!.heights[0] === 0 ? '' : ` (height ${formatLength(line.panel!.heights[0], { units: job.units, as: 'offset' })})`}`;
}

/** The opening and its plate in plain lines. */
export function coverLines(job: Job, fit: CoverPlateFit): string[] {
  const { small, station, x, y } = coverWords(job, fit);
  const { opening, plate, outline, bolts, smallest } = fit;
  const { box } = opening;
  const lines = [
    `Opening: ${opening.corners.length === 4 ? 'rectangle' : `polygon of ${opening.corners.length} corners`} ${size(box, small)}, ${station(box.from)} to ${station(box.to)}, heights ${small(box.low)} to ${small(box.high)}, corners ${opening.radius === 0 ? 'sharp' : `of radius ${small(opening.radius)}`}.`,
  ];
  if (plate === null || outline === null) return lines;
  const faces =
    plate.sides === 'both' ? 'on both faces' : `on the ${plate.sides === 'positive' ? '+' : '−'} face`;
  lines.push(
    `Plate ${faces}: ${small(plate.thickness)} thick, ${size(outline, small)}; ${bolts.length} bolts of ${small(plate.boltDiameter)}, ${plate.rows} ${plate.rows === 1 ? 'row' : 'rows'}, at most ${small(plate.pitch)} apart, ${small(plate.fromOpening)} from the opening, ${small(plate.edgeDistance)} from the edge${plate.leastEdge === null ? '' : ` (least ${small(plate.leastEdge.value)}, ${inert(plate.leastEdge.source)})`}. Its near lower corner stands ${x(outline.from)} across and ${y(outline.low)} up.`,
    fit.filler === null
      ? 'In the opening: a filler plate of the thickness of the web or flange, which the job does not state.'
      : `In the opening: a filler plate ${small(fit.filler)} thick, the thickness of the plate around it; the gap left around it is for the engineer to say.`,
  );
  if (smallest !== null) {
    const { more } = smallest;
    const none = Object.values(more).every((each) => each === 0);
    lines.push(
      none
        ? `Smallest plate with all bolts on steel flat within ${small(fit.gapLimit.value)}, without fillers: this one.`
        : `Smallest plate with all bolts on steel flat within ${small(fit.gapLimit.value)}, without fillers, by the readings: ${size(smallest.outline, small)}, its near lower corner ${x(smallest.outline.from)} across and ${y(smallest.outline.low)} up, ${smallest.bolts.length} bolts.`,
    );
  }
  return lines;
}

export function faceTitle(side: CoverSide): string {
  return side.face === 'positive' ? 'Plate on the + face' : 'Plate on the − face';
}

/** Heading and a row a bolt: place from the reference edges, gap, filler, gap left. */
export function boltRows(job: Job, fit: CoverPlateFit, side: CoverSide): string[][] {
  const { x, y } = coverWords(job, fit);
  return [
    ['Bolt', 'Across', 'Up', 'Gap', 'Filler', 'Left', 'Limit'],
    ...side.bolts.map((bolt) => [
      bolt.name,
      x(bolt.station),
      y(bolt.height),
      gapText(job, bolt),
      fillText(job, bolt),
      bolt.fill === null ? '' : formatDecimal(bolt.fill.left, { units: job.units, as: 'offset' }),
      bolt.result === 'unread' ? 'not read' : bolt.result,
    ]),
  ];
}

function gapText(job: Job, { gap, u }: Pick<BoltGap, 'gap' | 'u'>): string {
  if (gap === null) return 'not read';
  const { units } = job;
  return `${formatLength(gap, { units, as: 'offset', fraction: 32 })} ± ${formatUncertainty(MEASURED.factor * (u ?? 0), units)}`;
}

function fillText(job: Job, { fill }: BoltGap): string {
  if (fill === null) return '';
  if (fill.plies.length === 0) return 'none';
  const bare = fill.plies.map((t) =>
    formatLength(t, { units: job.units, as: 'offset', fraction: 64, unit: false }),
  );
  return `${bare.join(' + ')} ${job.units === 'us' ? 'in' : 'mm'}`;
}

const EDGES = { low: 'lower', high: 'upper', from: 'near', to: 'far' } as const;

/** `Along its edges: lower 1/8 ± 1/32 in at most, …`. */
export function edgeText(job: Job, side: CoverSide): string {
  return `Largest gap along its edges: ${side.edges.map((edge) => `${EDGES[edge.edge]} ${gapText(job, edge)}`).join(', ')}.`;
}

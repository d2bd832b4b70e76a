/** Simulated damaged girders put in front of the synthetic scanner, and what the scan should have said. */

import { extractFlange } from '../../src/scan/extract-flange.ts';
import type { ScanProfile } from '../../src/scan/extract-line.ts';
import type { ScanLine } from '../../src/scan/line-frame.ts';
import { valueAt } from '../mechanics/beam.ts';
import { type GirderTruth, simulateGirder } from '../mechanics/girder.ts';
import { randomGirder } from '../mechanics/population.ts';
import { createRandom, type Random } from '../mechanics/random.ts';
import { type Box, edgeAt, type GirderShape, scanFromTwo, straightShape } from './synthetic-scanner.ts';
import { feed, scanLine } from './taking.ts';

/** A struck girder whose bends the scanner can be asked about: kinks sharper than this hide within one slice. */
const SHARPEST = 0.6;

export function struckGirder(random: Random): GirderTruth {
  for (let attempt = 0; ; attempt++) {
    const truth = simulateGirder({ ...randomGirder(random.fork(`girder ${attempt}`)) });
    const sharp = Math.max(...truth.curvature.map(Math.abs));
    if (sharp < SHARPEST && truth.options.span < 20) return truth;
  }
}

/** The flange also rises and twists a little, as struck flanges do. */
export function shapeOf(truth: GirderTruth): GirderShape {
  const { span, flangeWidth, flangeThickness } = truth.options;
  // A ray asks a few times: a table of the shape every 5 mm, straight between (the shape bends less than 1 um there).
  const table = Float64Array.from({ length: Math.ceil(span / 0.005) + 2 }, (_, i) =>
    valueAt(truth.grid, truth.profile, Math.min(span, i * 0.005)),
  );
  const centre = (x: number) => {
    const at = Math.max(0, Math.min(span, x)) / 0.005;
    const i = Math.floor(at);
    return table[i]! + (at - i) * (table[i + 1]! - table[i]!);
  };
  return {
    ...straightShape(span),
    flangeWidth,
    flangeThickness,
    centre,
    rise: (x) => 0.012 * Math.sin((Math.PI * x) / span),
    twist: (x) => 0.015 * Math.sin((2 * Math.PI * x) / span),
  };
}

/** Clamps and plates over the edge, a jack against it, a column in the line of sight. */
export function hardware(shape: GirderShape, random: Random): Box[] {
  const { span } = shape;
  const boxes: Box[] = Array.from({ length: 8 }, () => {
    const x = random.between(0.6, span - 0.8);
    const edge = edgeAt(shape, x);
    return {
      x: [x, x + random.between(0.04, 0.2)],
      y: [edge - 0.08, edge + random.between(0.012, 0.06)],
      z: [-0.02, 0.06],
    };
  });
  const jack = random.between(0.3, 0.7) * span;
  boxes.push({
    x: [jack, jack + 0.09],
    y: [edgeAt(shape, jack), edgeAt(shape, jack) + 0.6],
    z: [-0.03, 0.06],
  });
  const column = random.between(0.1, 0.2) * span;
  boxes.push({ x: [column, column + 0.05], y: [1.5, 1.6], z: [-5, 5] });
  return boxes;
}

/** The line a surveyor would set up: two points picked on the edge, a few millimetres off. */
export function pickedLine(shape: GirderShape): ScanLine {
  const { span } = shape;
  const [from, to] = [edgeAt(shape, 0) + 0.006, edgeAt(shape, span) - 0.004];
  return scanLine('sweep', [0, from, 0.012], [span, to, 0.01], {
    name: 'bottom-flange',
    direction: [0.1, 1, 0],
    spacing: 0.3048,
    extent: shape.flangeWidth,
  });
}

export function takeLine(
  line: ScanLine,
  shape: Pick<GirderShape, 'flangeWidth' | 'flangeThickness'>,
  points: Float64Array,
): ScanProfile {
  const extractor = extractFlange([line], 1, { ...shape, leastU: 0.0003 });
  feed(points, extractor);
  return extractor.profiles()[0]!;
}

/** Error of every station against the true edge, m. */
export function edgeErrors(profile: ScanProfile, shape: GirderShape) {
  const { from, to, stations } = profile.line;
  return profile.stations.map((each) => {
    const share = (each.station - stations[0]) / (stations[1] - stations[0]);
    const chord = from[1] + share * (to[1] - from[1]);
    return { ...each, error: each.offset + chord - edgeAt(shape, each.station) };
  });
}

export function scanOf(shape: GirderShape, random: Random, change: Parameters<typeof scanFromTwo>[2] = {}) {
  return scanFromTwo(shape, random, { heights: [-0.1, 0.12], step: 0.001, ...change });
}

export { createRandom };

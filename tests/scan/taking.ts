/** Set-ups that tests of the scan reader share: lines as a set-up would give them, and a cloud handed to an extractor. */
import { extractFlange } from '../../src/scan/extract-flange.ts';
import { extractLine, type ScanProfile } from '../../src/scan/extract-line.ts';
import type { ScanLine } from '../../src/scan/line-frame.ts';
import { flangePoint, type GirderSpec, poseAt } from '../bench/raycast/girder.ts';

type V = readonly [number, number, number];

/** A line with its kind's usual reach and band; `more` has what differs. */
export function scanLine(kind: ScanLine['kind'], from: V, to: V, more: Partial<ScanLine> = {}): ScanLine {
  const sweep = kind === 'sweep';
  return {
    name: kind,
    kind,
    units: 'si',
    from,
    to,
    stations: [0, to[0] - from[0]],
    direction: sweep || kind === 'plumb' ? [0, 1, 0] : [0, 0, 1],
    feature: sweep ? 'edge' : 'face',
    edge: 'positive',
    across: kind === 'tilt' ? [0, 1, 0] : kind === 'plumb' ? [0, 0, 1] : null,
    reach: sweep ? 0.9 : kind === 'plumb' ? 0.7 : 0.5,
    band: sweep ? [-0.5, 0.5] : [-0.9, 0.9],
    spacing: 0.25,
    slice: 0.15,
    extent: 0.4,
    ...more,
  };
}

/** The lines of a cast girder: both edges, camber, tilt and plumb, picked where they truly are. */
export function girderLines(g: GirderSpec): Record<'edge' | 'other' | 'camber' | 'tilt' | 'plumb', ScanLine> {
  const on = (u: number, v: number): [V, V] => {
    const at = (x: number): V => {
      const p = flangePoint(poseAt(g, x), u, v);
      return [x, p.y, p.z];
    };
    return [at(0), at(g.span)];
  };
  const [half, mid] = [g.flangeWidth / 2, g.flangeThickness / 2];
  return {
    edge: scanLine('sweep', ...on(half, mid), { name: 'edge' }),
    other: scanLine('sweep', ...on(-half, mid), { name: 'other', edge: 'negative' }),
    camber: scanLine('camber', ...on(0, 0)),
    tilt: scanLine('tilt', ...on(0, 0), { extent: g.flangeWidth }),
    plumb: scanLine('plumb', [0, 0, g.depth / 2], [g.span, 0, g.depth / 2], {
      band: [-0.4 * g.depth, 0.4 * g.depth],
      extent: g.depth - 2 * g.flangeThickness,
    }),
  };
}

/** Hands a cloud (x y z by turns) to whatever takes points by columns. */
export function feed(
  points: Float64Array,
  ...takers: readonly { sink(x: Float64Array, y: Float64Array, z: Float64Array, count: number): void }[]
): void {
  const n = points.length / 3;
  const axis = (k: number) => Float64Array.from({ length: n }, (_, i) => points[3 * i + k]!);
  const [x, y, z] = [axis(0), axis(1), axis(2)];
  for (const taker of takers) taker.sink(x, y, z, n);
}

export function takeAlone(
  line: ScanLine,
  flangeThickness: number,
  points: Float64Array,
  leastU = 0,
): ScanProfile {
  const extractor = extractLine(line, 1, { flangeThickness, leastU });
  feed(points, extractor);
  return extractor.profile();
}

/** Lines of one flange of a cast girder. */
export function flangeOf(
  g: Pick<GirderSpec, 'flangeWidth' | 'flangeThickness'>,
  lines: readonly ScanLine[],
  points: Float64Array,
  registration: number | null = null,
) {
  const { flangeWidth, flangeThickness } = g;
  const extractor = extractFlange(lines, 1, { flangeWidth, flangeThickness, leastU: 0, registration });
  feed(points, extractor);
  return extractor;
}

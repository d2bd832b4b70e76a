/** Values at the nodes of a net, index row · columns + column; places between are by straight lines. */
export interface NetValues {
  readonly columns: number;
  readonly rows: number;
  readonly value: (index: number) => number;
  /** False: no line is drawn through a cell with this corner. */
  readonly seen: (index: number) => boolean;
}

export type Segment = readonly [x1: number, y1: number, x2: number, y2: number];

/**
 * The contour of a level as segments in node units (column, row), cell by cell (marching squares); a saddle is cut by the
 * value in its middle.
 */
export function contour(net: NetValues, level: number): Segment[] {
  const segments: Segment[] = [];
  for (let r = 0; r + 1 < net.rows; r++) {
    for (let c = 0; c + 1 < net.columns; c++) {
      const corners = [
        r * net.columns + c,
        r * net.columns + c + 1,
        (r + 1) * net.columns + c + 1,
        (r + 1) * net.columns + c,
      ] as const;
      if (!corners.every(net.seen)) continue;
      const v = corners.map((i) => net.value(i) - level) as [number, number, number, number];
      const places = [
        [c, r],
        [c + 1, r],
        [c + 1, r + 1],
        [c, r + 1],
      ] as const;
      const cuts: [number, number][] = [];
      for (let k = 0; k < 4; k++) {
        const [a, b] = [v[k]!, v[(k + 1) % 4]!];
        if (a >= 0 === b >= 0) continue;
        const t = a / (a - b);
        const [p, q] = [places[k]!, places[(k + 1) % 4]!];
        cuts.push([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]);
      }
      if (cuts.length === 2) segments.push([...cuts[0]!, ...cuts[1]!] as unknown as Segment);
      if (cuts.length === 4) {
        const middle = (v[0] + v[1] + v[2] + v[3]) / 4;
        const pairs = middle >= 0 === v[0] >= 0 ? [0, 1, 2, 3] : [3, 0, 1, 2];
        segments.push([...cuts[pairs[0]!]!, ...cuts[pairs[1]!]!] as unknown as Segment);
        segments.push([...cuts[pairs[2]!]!, ...cuts[pairs[3]!]!] as unknown as Segment);
      }
    }
  }
  return segments;
}

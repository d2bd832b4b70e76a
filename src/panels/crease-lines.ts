import type { PanelSurvey } from '../analysis.ts';
import { hypot } from '../maths/portable.ts';

export interface Place {
  readonly station: number;
  readonly height: number;
}

/** A crease followed along its ridge of bending: where a crew chalks it. */
export interface CreaseLine {
  /** Straight pieces from place to place, m. */
  readonly path: readonly Place[];
  readonly length: number;
  /** Nodes of the map it runs through. */
  readonly nodes: readonly number[];
  /** + : the plate is bent hollow toward the positive side there (its ridge points to the negative side). */
  readonly sign: 1 | -1;
}

/** The principal curvature of larger size at a node, 1/m, and the direction it bends in. */
export function mainBend({ along, up, twist }: PanelSurvey['bending'][number]): {
  readonly curvature: number;
  readonly direction: readonly [number, number];
} {
  const mean = (along + up) / 2;
  const turn = hypot((along - up) / 2, twist);
  const curvature = mean >= 0 ? mean + turn : mean - turn;
  // Of the two forms of an eigenvector the longer one is never nothing.
  const [a, b] = [[twist, curvature - along] as const, [curvature - up, twist] as const];
  const [x, y] = hypot(...a) > hypot(...b) ? a : b;
  const size = hypot(x, y);
  return { curvature, direction: size === 0 ? [1, 0] : [x / size, y / size] };
}

/** A chalked line this near the ridge is on it, m. */
const NEAR = 0.02;
const MOST_STEPS = 400;
/** How nearly the sharpest across its bend a node of a ridge is. */
const RIDGE = 0.92;

/**
 * Creases of a panel as lines, sharpest first: from the node bent most, along the direction it is not bent in, kept on the
 * ridge by a look to either side, until the crease ends; then the next at least `apart` from those before. A ridge is
 * where the bending is no sharper a node or two to either side: the flank of a dome is bent one way too, and is none.
 *
 * @param creased nodes that belong to a crease
 * @param apart least distance between lines, m; shorter creases than this are no line either
 */
export function creaseLines(survey: PanelSurvey, creased: readonly boolean[], apart: number): CreaseLine[] {
  const { map } = survey;
  const [stepX, stepY] = [(map.to - map.from) / (map.columns - 1), (map.high - map.low) / (map.rows - 1)];
  const bends = survey.bending.map(mainBend);
  const taken = new Uint8Array(creased.length);
  const step = Math.min(stepX, stepY) / 2;
  const nodeNear = (x: number, y: number): number => {
    const [c, r] = [Math.round((x - map.from) / stepX), Math.round((y - map.low) / stepY)];
    return c < 0 || r < 0 || c >= map.columns || r >= map.rows ? -1 : r * map.columns + c;
  };
  const crease = creased.map((is, i) => {
    if (!is) return false;
    const { curvature, direction } = bends[i]!;
    const [c, r] = [i % map.columns, Math.floor(i / map.columns)];
    return [-2, -1, 1, 2].every((k) => {
      const side = nodeNear(
        map.from + c * stepX + k * direction[0] * stepX,
        map.low + r * stepY + k * direction[1] * stepY,
      );
      return side < 0 || bends[side]!.curvature * Math.sign(curvature) <= Math.abs(curvature) / RIDGE;
    });
  });
  const free = (node: number) => node >= 0 && crease[node]! && taken[node] === 0;

  const follow = (
    start: number,
    way: 1 | -1,
    before: readonly [number, number][],
  ): { path: [number, number][]; nodes: number[] } => {
    const sign = Math.sign(bends[start]!.curvature);
    let [x, y] = [
      map.from + (start % map.columns) * stepX,
      map.low + Math.floor(start / map.columns) * stepY,
    ];
    let heading = turned(bends[start]!.direction, way);
    const path: [number, number][] = [[x, y]];
    const nodes = [start];
    for (let i = 0; i < MOST_STEPS; i++) {
      [x, y] = [x + heading[0] * step, y + heading[1] * step];
      // Back onto the ridge: the sharpest of the places beside it, across the crease.
      const across = [-heading[1], heading[0]] as const;
      let best = -1;
      let shift = 0;
      for (const side of [0, -1, 1]) {
        const node = nodeNear(x + side * across[0] * 2 * step, y + side * across[1] * 2 * step);
        if (!free(node) || Math.sign(bends[node]!.curvature) !== sign) continue;
        if (best < 0 || Math.abs(bends[node]!.curvature) > 1.02 * Math.abs(bends[best]!.curvature))
          [best, shift] = [node, side];
      }
      if (best < 0) break;
      [x, y] = [x + shift * across[0] * step * 0.6, y + shift * across[1] * step * 0.6];
      const own = turned(bends[best]!.direction, 1);
      const same = own[0] * heading[0] + own[1] * heading[1];
      const towards = same >= 0 ? own : ([-own[0], -own[1]] as const);
      // A crease does not turn on the spot: half the old heading, half the new.
      const mixed = [heading[0] + towards[0], heading[1] + towards[1]] as const;
      const size = hypot(...mixed);
      heading = [mixed[0] / size, mixed[1] / size];
      // A ring has come round when it nears where it began, or what was followed the other way.
      const past = [...before.slice(Math.ceil(apart / step)), ...path.slice(0, -2 * Math.ceil(apart / step))];
      if (past.some(([a, b]) => hypot(a - x, b - y) < apart / 2)) break;
      path.push([x, y]);
      if (nodes.at(-1) !== best) nodes.push(best);
    }
    return { path, nodes };
  };

  const lines: CreaseLine[] = [];
  const order = crease.flatMap((is, i) => (is ? [i] : []));
  order.sort((a, b) => Math.abs(bends[b]!.curvature) - Math.abs(bends[a]!.curvature) || a - b);
  for (const start of order) {
    if (taken[start] === 1) continue;
    const back = follow(start, -1, []);
    const on = follow(start, 1, back.path);
    const whole = [...back.path.reverse(), ...on.path.slice(1)];
    const nodes = [...back.nodes.reverse(), ...on.nodes.slice(1)];
    crease.forEach((is, i) => {
      if (!is || taken[i] === 1) return;
      const [x, y] = [map.from + (i % map.columns) * stepX, map.low + Math.floor(i / map.columns) * stepY];
      if (i === start || whole.some(([a, b]) => hypot(a - x, b - y) < apart)) taken[i] = 1;
    });
    const path = simplified(whole);
    const length = lengthOf(path);
    if (length < apart) continue;
    lines.push({
      path: path.map(([station, height]) => ({ station, height })),
      length,
      nodes,
      sign: bends[start]!.curvature >= 0 ? 1 : -1,
    });
  }
  return lines;
}

/** A quarter turn of the direction of bending: the crease runs across it. */
function turned([x, y]: readonly [number, number], way: 1 | -1): readonly [number, number] {
  return [-way * y, way * x];
}

function lengthOf(path: readonly (readonly [number, number])[]): number {
  return path.slice(1).reduce((sum, [x, y], i) => sum + hypot(x - path[i]![0], y - path[i]![1]), 0);
}

/** Fewest places whose straight pieces stay near the path (Douglas and Peucker 1973). */
function simplified(path: readonly [number, number][]): [number, number][] {
  const [first, last] = [path[0]!, path.at(-1)!];
  const [dx, dy] = [last[0] - first[0], last[1] - first[1]];
  const long = hypot(dx, dy);
  let [most, at] = [0, -1];
  path.forEach(([x, y], i) => {
    const off =
      long === 0
        ? hypot(x - first[0], y - first[1])
        : Math.abs((x - first[0]) * dy - (y - first[1]) * dx) / long;
    if (off > most) [most, at] = [off, i];
  });
  if (most <= NEAR) return [first, last];
  return [...simplified(path.slice(0, at + 1)).slice(0, -1), ...simplified(path.slice(at))];
}

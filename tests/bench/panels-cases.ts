import type { Line } from '../../src/job/job.ts';
import { Qr } from '../../src/maths/qr.ts';
import { seededNormal, seededUniform } from '../../src/maths/seeded.ts';
import { fitPanel } from '../../src/panels/fit-panel.ts';
import { yieldedOf } from '../../src/panels/yielded.ts';
import { assembleSurveys } from '../../src/survey/assemble.ts';
import type { Reading } from '../../src/survey/survey.ts';
import { panelJob } from '../panels/panel-job.ts';
import { clampedPlate, creased, dent } from '../panels/plates.ts';

export const INCH = 0.0254;

export interface Dice {
  readonly uniform: () => number;
  readonly normal: () => number;
  readonly between: (low: number, high: number) => number;
  readonly pick: <T>(of: readonly T[]) => T;
}

export function diceOf(seed: number): Dice {
  const uniform = seededUniform(seed);
  return {
    uniform,
    normal: seededNormal(uniform),
    between: (low, high) => low + (high - low) * uniform(),
    pick: (of) => of[Math.floor(uniform() * of.length)]!,
  };
}

/** Reading sd without rounding, m. */
export const SD = INCH / 32;
/** Noise and rounding to 1/16 in together. */
export const STATED = Math.sqrt(SD ** 2 + (INCH / 16) ** 2 / 12);
const plates = new Map<string, ReturnType<typeof clampedPlate>>();
export function plate(aspect: number, load: 'uniform' | 'middle') {
  const key = `${aspect} ${load}`;
  let made = plates.get(key);
  if (made === undefined) {
    made = clampedPlate(aspect, 32, load);
    plates.set(key, made);
  }
  return made;
}

/**
 * A bulge of its own form, analytic and not used in any tuning: (1 − r²)³ on an ellipse 1.6 long to 1 wide, turned, its top
 * pushed off its middle.
 */
function egg(
  x: number,
  y: number,
  cx: number,
  cy: number,
  radius: number,
  aspect: number,
  turn: number,
): number {
  const [dx, dy] = [(x - cx) * aspect, y - cy];
  const [a, b] = [dx * Math.cos(turn) + dy * Math.sin(turn), dy * Math.cos(turn) - dx * Math.sin(turn)];
  const r2 = (a / (1.15 * radius)) ** 2 + (b / (0.72 * radius)) ** 2;
  return r2 >= 1 ? 0 : (1 - r2) ** 3 * (1 + (0.35 * a) / radius);
}

export interface Case {
  readonly kind: string;
  readonly line: Line;
  readonly spacing: number;
  /** Steel, m, by shares of the panel. */
  readonly bulge: (x: number, y: number) => number;
  readonly edges: (x: number, y: number) => number;
  readonly hole: ((x: number, y: number) => boolean) | null;
  /** The numbers the bulge was made from, its size first, and the bulge of any such numbers: for the bound. */
  readonly numbers: readonly number[];
  readonly family: (numbers: readonly number[]) => (x: number, y: number) => number;
}

export function makeCase(dice: Dice): Case {
  const { uniform, between, pick } = dice;
  const aspect = pick([1, 1.25, 1.5, 2]);
  const height = between(30, 60) * INCH;
  const width = aspect * height;
  const kind = pick(['clamped, uniform', 'clamped, point', 'dent', 'folded', 'egg', 'flat']);
  const size = (kind === 'flat' ? 0 : between(0.4, 3)) * INCH * (uniform() < 0.5 ? -1 : 1);
  const [cx, cy, radius] = [between(0.3, 0.7), between(0.35, 0.65), between(0.25, 0.34)];
  const turn = between(0, Math.PI);
  const numbers =
    kind === 'dent'
      ? [size, cx, cy, radius]
      : kind === 'egg'
        ? [size, cx, cy, radius, turn]
        : kind === 'folded'
          ? [size, cx, cy]
          : kind === 'flat'
            ? []
            : [size];
  const family =
    ([own = 0, a, b, r, t]: readonly number[]) =>
    (x: number, y: number): number => {
      if (kind === 'clamped, uniform' || kind === 'clamped, point') {
        const of = plate(aspect, kind === 'clamped, point' ? 'middle' : 'uniform');
        return (own * of.value(x, y)) / of.middle;
      }
      if (kind === 'dent') return own * dent(x, y, a!, b!, r!, aspect);
      if (kind === 'egg') return own * egg(x, y, a!, b!, r!, aspect, t!);
      return kind === 'folded' ? own * creased(x, y, a!, b!, 0.16) : 0;
    };
  const [sway, twist, bow, top] = [
    between(-2, 2),
    between(-0.7, 0.7),
    between(-0.8, 0.8),
    between(-0.15, 0.15),
  ];
  const [hx, hy, hw, hh] = [between(0.15, 0.85), between(0.2, 0.8), between(0.05, 0.12), between(0.06, 0.15)];
  const flanges = kind === 'dent' && uniform() < 0.5;
  return {
    kind,
    line: {
      ...panelJob().lines[0]!,
      bearings: [8, 8 + width],
      readingSd: STATED,
      panel: {
        element: 'web',
        heights: [0, height],
        held: flanges ? ['bottom', 'top'] : ['bottom', 'top', 'from', 'to'],
        thickness: 0.4375 * INCH,
      },
    },
    spacing: pick([2, 3, 4, 4, 6, 8, 12]) * INCH,
    bulge: family(numbers),
    numbers,
    family,
    edges: (x, y) =>
      INCH * (sway * (1 - y) + twist * x * (1 - y) + 4 * x * (1 - x) * (bow * (1 - y) + top * y) + 2),
    hole: uniform() < 0.25 ? (x, y) => Math.abs(x - hx) < hw && Math.abs(y - hy) < hh : null,
  };
}

/**
 * A plate pushed in at a point, with straight flanks and a tip between the readings: the mechanism of Johansen's yield lines,
 * round (a fan) or four flat sides. None of the families above, and looked at by grids of 4 in and less.
 */
export function makeFan(dice: Dice): Case {
  let base = makeCase(dice);
  while (base.spacing > 4.5 * INCH || base.kind === 'flat') base = makeCase(dice);
  const [from, to] = base.line.bearings;
  const [width, height] = [to - from, base.line.panel!.heights[1]];
  const [cx, cy] = [dice.between(0.35, 0.65), dice.between(0.35, 0.65)];
  const clear = Math.min(cx * width, (1 - cx) * width, cy * height, (1 - cy) * height);
  const foot = clear * dice.between(0.5, 0.9);
  const stretch = dice.between(0.8, 1.25);
  const contact = dice.pick([0, 0.5, 1.5]) * INCH;
  const size = dice.between(0.4, 3) * INCH;
  const round = dice.uniform() < 0.5;
  const family =
    ([own = 0, a, b]: readonly number[]) =>
    (x: number, y: number): number => {
      if (!round)
        return (
          own *
          Math.max(0, Math.min(x < a! ? x / a! : (1 - x) / (1 - a!), y < b! ? y / b! : (1 - y) / (1 - b!)))
        );
      const r = Math.hypot((x - a!) * width * stretch, ((y - b!) * height) / stretch);
      return own * Math.max(0, Math.min(1, 1 - (r - contact) / (foot - contact)));
    };
  const numbers = [size, cx, cy];
  return { ...base, kind: round ? 'fan' : 'four sides', hole: null, numbers, family, bulge: family(numbers) };
}

/** Spaces of the grid along and up. */
function gridOf({ line, spacing }: Case): [number, number] {
  const [from, to] = line.bearings;
  const spaces = (length: number) => Math.max(3, Math.round(length / spacing));
  return [spaces(to - from), spaces(line.panel!.heights[1])];
}

/** Whether a hole took a reading: one that lies between the places of the grid hides nothing and cannot be known of. */
function hides(one: Case): boolean {
  const [nx, ny] = gridOf(one);
  return Array.from({ length: (nx + 1) * (ny + 1) }, (_, i) => i).some((i) =>
    one.hole?.((i % (nx + 1)) / nx, Math.floor(i / (nx + 1)) / ny),
  );
}

/** @param sd of the reading before it is rounded, m */
export function read(one: Case, cycle: number, normal: () => number, sd = SD): Reading[] {
  const { line, bulge, edges, hole } = one;
  const [from, to] = line.bearings;
  const high = line.panel!.heights[1];
  const [nx, ny] = gridOf(one);
  const readings: Reading[] = [];
  for (let j = 0; j <= ny; j++)
    for (let i = 0; i <= nx; i++) {
      const [x, y] = [i / nx, j / ny];
      const z = bulge(x, y) + edges(x, y) + sd * normal();
      if (hole?.(x, y)) continue;
      readings.push({
        ...{ cycle, line: line.name, station: from + x * (to - from), height: y * high },
        offset: Math.round(z / (INCH / 16)) * (INCH / 16),
        ...{ state: 'released', sd: null, temperature: null, date: null, time: null, note: null },
        ...{ file: `c${cycle}.csv`, row: readings.length + 2 },
      });
    }
  return readings;
}

/**
 * Least standard uncertainty of a crest that any unbiased method can have on these readings, m, for somebody who knows the
 * family of the bulge and of the sway exactly and lacks only their numbers: the Cramér–Rao bound, from derivatives by
 * differences of the readings. It knows far more than a surface of no known family can; where even it is wide, the grid is
 * too wide or the noise too large.
 */
export function leastU(one: Case): number {
  const { numbers, family, hole } = one;
  // A flat panel known to be flat has no crest to miss.
  if (numbers.length === 0) return 0;
  const [nx, ny] = gridOf(one);
  const places: [number, number][] = [];
  for (let j = 0; j <= ny; j++)
    for (let i = 0; i <= nx; i++) if (!hole?.(i / nx, j / ny)) places.push([i / nx, j / ny]);
  const columns: ((x: number, y: number) => number)[] = [
    () => 1,
    (_, y) => y,
    (x) => x,
    (x, y) => x * (1 - y),
    (x, y) => 4 * x * (1 - x) * (1 - y),
    (x, y) => 4 * x * (1 - x) * y,
  ];
  numbers.forEach((value, k) => {
    const step = Math.max(1e-4, 1e-3 * Math.abs(value));
    const [up, down] = [1, -1].map((way) => family(numbers.map((v, i) => (i === k ? v + way * step : v))));
    columns.push((x, y) => (up!(x, y) - down!(x, y)) / (2 * step));
  });
  const qr = new Qr(places.length);
  for (const column of columns) qr.push(Float64Array.from(places, ([x, y]) => column(x, y) / STATED));
  if (qr.rank < columns.length) return Number.POSITIVE_INFINITY;
  const size = columns.length - numbers.length;
  return Math.sqrt(qr.unscaledCovariance()[size]![size]!);
}

export const sdOf = { value: STATED, source: 'job', degreesOfFreedom: null, reason: '' } as const;
export const member = panelJob().member;
export interface Score {
  readonly kind: string;
  readonly spacing: number;
  readonly error: number;
  readonly size: number;
  readonly u: number;
  readonly bound: boolean;
  readonly crestInHole: boolean;
  readonly aside: number;
  readonly jaccard: number | null;
  /** `leastU` of the case, m. */
  readonly least: number;
  readonly holed: boolean;
}

export function score(one: Case, normal: () => number): Score {
  const surveys = assembleSurveys(read(one, 0, normal), one.line);
  const fit = fitPanel(one.line, one.line.panel!, surveys, [], sdOf, 'us').surveys[0]!;
  const { map, crest } = fit.panel!;
  let [most, at] = [0, [0.5, 0.5] as [number, number]];
  const N = 160;
  for (let j = 0; j <= N; j++)
    for (let i = 0; i <= N; i++) {
      const v = Math.abs(one.bulge(i / N, j / N));
      if (v > most) [most, at] = [v, [i / N, j / N]];
    }
  // The true outline of yield, by second differences of the true shape over a hundredth of the panel.
  const [w, h] = [one.line.bearings[1] - one.line.bearings[0], one.line.panel!.heights[1]];
  const yielded = yieldedOf(
    fit.panel!,
    one.line.panel!.thickness!,
    member.yieldStress,
    member.elasticModulus,
  );
  const per = (one.line.panel!.thickness! / 2) * (member.elasticModulus / member.yieldStress);
  let [both, either] = [0, 0];
  const d = 0.02;
  for (let r = 1; r < map.rows - 1; r++)
    for (let c = 1; c < map.columns - 1; c++) {
      const index = r * map.columns + c;
      if (!map.seen[index]) continue;
      const [x, y] = [c / (map.columns - 1), r / (map.rows - 1)];
      if (x < d || y < d || x > 1 - d || y > 1 - d) continue;
      const b = one.bulge;
      const xx = (b(x + d, y) - 2 * b(x, y) + b(x - d, y)) / (d * w) ** 2;
      const yy = (b(x, y + d) - 2 * b(x, y) + b(x, y - d)) / (d * h) ** 2;
      const xy =
        (b(x + d, y + d) - b(x + d, y - d) - b(x - d, y + d) + b(x - d, y - d)) / (4 * d * d * w * h);
      const most_ = Math.abs((xx + yy) / 2) + Math.hypot((xx - yy) / 2, xy);
      const truly = per * most_ >= 1;
      const said = yielded.ratio[index]! >= yielded.outline;
      if (truly && said) both++;
      if (truly || said) either++;
    }
  return {
    kind: one.kind,
    spacing: one.spacing,
    error: Math.abs(crest.deviation) - most,
    size: most,
    u: crest.u,
    bound: crest.lowerBound,
    crestInHole: one.hole?.(...at) === true && hides(one) && most > INCH / 8,
    aside: fit.setAside.length,
    jaccard: either > 30 ? both / either : null,
    least: leastU(one),
    holed: one.hole !== null,
  };
}

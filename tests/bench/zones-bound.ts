/**
 * What the readings of a simulated girder can tell at best: the information bound (Cramér–Rao with priors, van Trees)
 * of an estimator that knows the simulator's own mechanics, which readings are wrong and the reading sd, starts from
 * the truth, and has only the simulator's parameters left to find: each blow's place, width and set, hardening,
 * every diaphragm's stiffness, string and sweep. No estimator that knows less can do better on average.
 *
 * The bound is linear. Beside it the same estimator is run (Gauss–Newton with step halving, the simulator itself as its model, from
 * the truth, on the readings as they were read), which shows what the bound's own girders come to. The web's hold is told, or
 * has to be found as well (`webSd`).
 */
import { Matrix, SingularValueDecomposition } from 'ml-matrix';
import { valueAt } from '../mechanics/beam.ts';
import { type GirderOptions, type GirderTruth, simulateGirder, type TrueZone } from '../mechanics/girder.ts';
import { createRandom } from '../mechanics/random.ts';
import { type Case, STRAIN_WANTED, spacingNear } from './zones-cases.ts';

const INCH = 0.0254;
const FOOT = 0.3048;

interface Parameter {
  readonly name: string;
  readonly step: number;
  /** Prior sd in the parameter's own unit; null: flat. */
  readonly sd: number | null;
  readonly change: (options: GirderOptions, by: number) => GirderOptions;
}

interface BoundZone {
  readonly truth: TrueZone;
  readonly rotationU: number;
  /** Of the estimator run on these readings, rad; NaN where its model lost the zone. */
  readonly error: number;
  readonly fromU: number;
  readonly toU: number;
  readonly spacing: number;
}

export interface Bound {
  readonly zones: readonly BoundZone[];
  /** Each wrong reading's error over the sd with which the others foretell it. */
  readonly blunders: readonly { readonly station: number; readonly ratio: number; readonly row: number }[];
}

/** `webSd`: prior sd of ln of the web's hold, and where it yields to a factor of two; null: the estimator is told both. */
export function bound(one: Case, webSd: number | null = null): Bound {
  const { truth, options, set } = one;
  const wrong = new Set(set.blunders.map((b) => b.row));
  const all = set.readings.map((r) => r.station);
  const good = set.readings.map((r) => !wrong.has(r.row));
  const sd = Math.hypot(options.sd, (options.rounding ?? 0) / Math.sqrt(12));
  const zones = truth.zones;
  const free = parameters(truth.options, webSd);
  const { span } = truth.options;
  const fixed: readonly (readonly [number[], number | null])[] = [
    [all.map(() => 1), null],
    [all.map((s) => s / span), null],
    [all.map((s) => Math.sin((Math.PI * s) / span)), span / 1000],
    [all.map((s) => Math.sin((2 * Math.PI * s) / span)), span / 1500],
  ];
  const priors = [
    ...free.map((p) => (p.sd === null ? null : p.sd / p.step)),
    ...fixed.map(([, prior]) => prior),
  ];
  const k = priors.length;
  const shapeOf = (t: GirderTruth) => all.map((s) => valueAt(t.grid, t.displacement, s));
  const zonesOf = (t: GirderTruth) =>
    zones.flatMap((zone) => {
      const now = same(t, zone);
      return [now?.rotation ?? 0, now?.from ?? zone.from, now?.to ?? zone.to];
    });
  /** Readings and zones by every free number, about `at` (in steps from the truth). */
  const slopesAt = (at: readonly number[]) => {
    const both = free.map((_, j) =>
      [1, -1].map((way) =>
        simulateGirder(
          changed(
            truth.options,
            free,
            at.map((v, i) => (i === j ? v + way : v)),
          ),
        ),
      ),
    );
    const slopes = (f: (t: GirderTruth) => number[]) =>
      both.map(([up, down]) => {
        const low = f(down!);
        return f(up!).map((value, i) => (value - low[i]!) / 2);
      });
    return { columns: [...slopes(shapeOf), ...fixed.map(([column]) => column)], outputs: slopes(zonesOf) };
  };
  const rowsOf = (columns: readonly (readonly number[])[]): number[][] => {
    const rows: number[][] = all.flatMap((_, i) => (good[i] ? [columns.map((c) => c[i]! / sd)] : []));
    priors.forEach((prior, j) => {
      if (prior !== null) rows.push(columns.map((_, c) => (c === j ? 1 / prior : 0)));
    });
    return rows;
  };
  const start = free.map(() => 0);
  const atTruth = slopesAt(start);
  const { columns, outputs } = atTruth;
  const rows = rowsOf(columns);
  const svd = new SingularValueDecomposition(new Matrix(rows), { autoTranspose: true });
  const V = svd.rightSingularVectors;
  const d = svd.diagonal;
  const uOf = (gradient: (p: number) => number) => {
    let variance = 0;
    for (let j = 0; j < k; j++) {
      let dotted = 0;
      for (let p = 0; p < k; p++) dotted += gradient(p) * V.get(p, j);
      variance += (dotted / d[j]!) ** 2;
    }
    return Math.sqrt(variance);
  };
  const errors = estimate();

  /** What the estimator makes of these readings: each zone's rotation less the true one, rad. */
  function estimate(): number[] {
    // A prior is as good as one more observation of its number: here each is off by a draw of its own.
    const random = createRandom(`${one.seed} told`);
    const means = priors.map((prior, j) =>
      prior === null || j >= free.length ? 0 : prior * random.normal(),
    );
    const look = (at: readonly number[]) => {
      const now = simulateGirder(changed(truth.options, free, at.slice(0, free.length)));
      const shape = shapeOf(now);
      const left: number[] = [];
      all.forEach((_, i) => {
        if (!good[i]) return;
        const string = fixed.reduce((sum, [column], j) => sum + column[i]! * at[free.length + j]!, 0);
        left.push((set.readings[i]!.offset - shape[i]! - string) / sd);
      });
      priors.forEach((prior, j) => {
        if (prior !== null) left.push((means[j]! - at[j]!) / prior);
      });
      return { at, now, left, sum: left.reduce((total, value) => total + value * value, 0) };
    };
    let here = look(priors.map(() => 0));
    for (let pass = 0; pass < 4; pass++) {
      const slopes = pass === 0 ? atTruth : slopesAt(here.at.slice(0, free.length));
      const system = new SingularValueDecomposition(new Matrix(rowsOf(slopes.columns)), {
        autoTranspose: true,
      });
      const step = system.solve(Matrix.columnVector(here.left)).to1DArray();
      const before = here.sum;
      for (let share = 1; share > 0.05; share /= 2) {
        const next = tryOr(() => look(here.at.map((v, j) => v + share * step[j]!)));
        if (next && next.sum < here.sum) {
          here = next;
          break;
        }
      }
      if (before - here.sum < 0.05) break;
    }
    return zones.map((zone) => (same(here.now, zone)?.rotation ?? Number.NaN) - zone.rotation);
  }
  const u = (output: number) => uOf((p) => outputs[p]?.[output] ?? 0);
  const blunders = set.blunders.map(({ index, station, change, row }) => ({
    station,
    row,
    ratio:
      Math.abs(change) /
      Math.hypot(
        sd,
        uOf((p) => columns[p]![index]!),
      ),
  }));
  return {
    blunders,
    zones: zones.flatMap((zone, z) =>
      zone.strainRatio < STRAIN_WANTED
        ? []
        : [
            {
              truth: zone,
              rotationU: u(3 * z),
              error: errors[z]!,
              fromU: u(3 * z + 1),
              toU: u(3 * z + 2),
              spacing: spacingNear(one, zone),
            },
          ],
    ),
  };
}

/** Changes compose, since each sets its number from the options it was made for: one after another, each on its own part. */
function changed(options: GirderOptions, free: readonly Parameter[], by: readonly number[]): GirderOptions {
  return free.reduce((o, p, j) => p.change(o, by[j]! * p.step), options);
}

/** A girder so changed that the simulator cannot push it that far is no candidate. */
function tryOr<T>(make: () => T): T | null {
  try {
    return make();
  } catch {
    return null;
  }
}

function same(truth: GirderTruth, zone: TrueZone): TrueZone | null {
  let best: TrueZone | null = null;
  for (const other of truth.zones) {
    if (Math.sign(other.plasticRotation) !== Math.sign(zone.plasticRotation)) continue;
    if (other.to < zone.from || other.from > zone.to) continue;
    if (!best || Math.abs(other.centre - zone.centre) < Math.abs(best.centre - zone.centre)) best = other;
  }
  return best;
}

function parameters(options: GirderOptions, webSd: number | null): Parameter[] {
  const list: Parameter[] = [];
  options.impacts.forEach((impact, i) => {
    const alter = (o: GirderOptions, to: Partial<typeof impact>): GirderOptions => ({
      ...o,
      impacts: o.impacts.map((other, j) => (j === i ? { ...other, ...to } : other)),
    });
    list.push(
      {
        name: `station ${i}`,
        step: 2 * INCH,
        sd: null,
        change: (o, by) => alter(o, { station: impact.station + by }),
      },
      {
        name: `patch ${i}`,
        step: 2 * INCH,
        sd: (1.5 * FOOT) / Math.sqrt(12),
        change: (o, by) => alter(o, { patch: impact.patch + by }),
      },
      {
        name: `set ${i}`,
        step: 0.03 * Math.abs(impact.set),
        sd: null,
        change: (o, by) => alter(o, { set: impact.set + by }),
      },
    );
  });
  list.push({
    name: 'hardening',
    step: 0.1 * options.hardening!,
    sd: 0.009 / Math.sqrt(12),
    change: (o, by) => ({ ...o, hardening: o.hardening! + by }),
  });
  list.push({
    name: 'stiffness of all',
    step: 0.1,
    sd: (1.7 * Math.LN10) / Math.sqrt(12),
    change: (o, by) => ({
      ...o,
      diaphragms: o.diaphragms.map((d) => ({ ...d, stiffness: d.stiffness * Math.exp(by) })),
    }),
  });
  options.diaphragms.forEach((_, i) => {
    list.push({
      name: `stiffness ${i}`,
      step: 0.1,
      sd: 0.2,
      change: (o, by) => ({
        ...o,
        diaphragms: o.diaphragms.map((d, j) =>
          j === i ? { ...d, stiffness: d.stiffness * Math.exp(by) } : d,
        ),
      }),
    });
  });
  if (webSd !== null && options.bedding)
    list.push({
      name: 'web',
      step: 0.1,
      sd: webSd,
      change: (o, by) => ({ ...o, bedding: o.bedding! * Math.exp(by) }),
    });
  if (webSd !== null && options.beddingYields)
    list.push({
      name: 'where the web yields',
      step: 0.1,
      sd: Math.LN2,
      change: (o, by) => ({ ...o, beddingYields: o.beddingYields! * Math.exp(by) }),
    });
  return list;
}

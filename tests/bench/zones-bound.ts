/**
 * What the readings of a simulated girder can tell at best: the information bound (Cramér–Rao with priors, van Trees)
 * of an estimator that knows the simulator's own mechanics, which readings are wrong and the reading sd, starts from
 * the truth, and has only the simulator's parameters left to find: each blow's place, width and set, hardening,
 * every diaphragm's stiffness, string and sweep. No estimator that knows less can do better on average.
 */
import { Matrix, SingularValueDecomposition } from 'ml-matrix';
import { valueAt } from '../mechanics/beam.ts';
import { type GirderOptions, type GirderTruth, simulateGirder, type TrueZone } from '../mechanics/girder.ts';
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
  readonly fromU: number;
  readonly toU: number;
  readonly spacing: number;
}

export interface Bound {
  readonly zones: readonly BoundZone[];
  /** Each wrong reading's error over the sd with which the others foretell it. */
  readonly blunders: readonly { readonly station: number; readonly ratio: number; readonly row: number }[];
}

export function bound(one: Case): Bound {
  const { truth, options, set } = one;
  const wrong = new Set(set.blunders.map((b) => b.row));
  const all = set.readings.map((r) => r.station);
  const good = set.readings.map((r) => !wrong.has(r.row));
  const sd = Math.hypot(options.sd, (options.rounding ?? 0) / Math.sqrt(12));
  const zones = truth.zones;
  const columns: number[][] = [];
  const outputs: number[][] = [];
  const priors: (number | null)[] = [];
  for (const p of parameters(truth.options)) {
    const up = simulateGirder(p.change(truth.options, p.step));
    const down = simulateGirder(p.change(truth.options, -p.step));
    const slope = (f: (t: GirderTruth) => number) => (f(up) - f(down)) / 2;
    columns.push(all.map((s) => slope((t) => valueAt(t.grid, t.displacement, s))));
    outputs.push(
      zones.flatMap((zone) => {
        const of = (t: GirderTruth) => same(t, zone);
        return [
          slope((t) => of(t)?.rotation ?? 0),
          slope((t) => of(t)?.from ?? zone.from),
          slope((t) => of(t)?.to ?? zone.to),
        ];
      }),
    );
    priors.push(p.sd === null ? null : p.sd / p.step);
  }
  const { span } = truth.options;
  const none = zones.flatMap(() => [0, 0, 0]);
  for (const [column, prior] of [
    [all.map(() => 1), null],
    [all.map((s) => s / span), null],
    [all.map((s) => Math.sin((Math.PI * s) / span)), span / 1000],
    [all.map((s) => Math.sin((2 * Math.PI * s) / span)), span / 1500],
  ] as const) {
    columns.push([...column]);
    outputs.push(none);
    priors.push(prior);
  }
  const k = columns.length;
  const rows: number[][] = all.flatMap((_, i) => (good[i] ? [columns.map((c) => c[i]! / sd)] : []));
  priors.forEach((prior, j) => {
    if (prior !== null) rows.push(columns.map((_, c) => (c === j ? 1 / prior : 0)));
  });
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
  const u = (output: number) => uOf((p) => outputs[p]![output]!);
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
              fromU: u(3 * z + 1),
              toU: u(3 * z + 2),
              spacing: spacingNear(one, zone),
            },
          ],
    ),
  };
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

function parameters(options: GirderOptions): Parameter[] {
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
  return list;
}

/**
 * The open benchmark of the zone finder: seeded girders from `tests/mechanics`, half with diaphragms given, half
 * without. `npm run bench:zones -- --count 300 --seed zones`; `--no-bound` leaves out the information bound, which
 * takes longer than the fits. `--bedding 300`: with a web that
 * holds the flange along its length, elastic, so many kN/m²; `--web given`: its depth and thickness are in the job; `--web yields`: they are,
 * and it yields where such a web would. `--said struck` or `--said nothing`: the job gives the struck reach, or
 * nothing, where it else gives the station of the first blow. `--spans three`: girders that run on over two piers instead, read over the struck span or
 * all of it.
 */
import normalCdf from '@stdlib/stats-base-dists-normal-cdf';
import { fitLine } from '../../src/zones/fit-line.ts';
import { type Bound, bound } from './zones-bound.ts';
import {
  createCase,
  createThreeSpanCase,
  type Said,
  type Score,
  score,
  type WebSaid,
  type ZoneScore,
} from './zones-cases.ts';
import { type OracleZone, oracle } from './zones-oracle.ts';

function option(name: string, fallback: string): string {
  const i = process.argv.indexOf(`--${name}`);
  return i >= 0 ? (process.argv[i + 1] ?? fallback) : fallback;
}

const count = Number.parseInt(option('count', '300'), 10);
const start = Number.parseInt(option('start', '0'), 10);
const seed = option('seed', 'zones');
const verbose = process.argv.includes('--verbose');
/** `--only given` or `--only not-given`: the girders of that half, the same as in a whole run. */
const only = option('only', 'both');
/** Sideways hold of the web, kN/m². */
const bedding = 1000 * Number.parseFloat(option('bedding', '0'));
const said = option('said', 'impact') as Said;
const web = option('web', 'nothing') as WebSaid;
const three = option('spans', 'one') === 'three';
const bounded = !process.argv.includes('--no-bound') && !three;

/** Threshold at which no more than 0.05 % of good readings would be set aside: two-sided normal. */
const THRESHOLD = 3.5;

/** m */
const NEAR_PIER = 0.9;

const scores: { given: Score[]; not: Score[] } = { given: [], not: [] };
const oracles: { given: OracleZone[]; not: OracleZone[] } = { given: [], not: [] };
const bounds: Bound[] = [];
/** Of those with a web: its hold not told, but as the job tells it: to a factor of 2, or of 3 without depth and thickness. */
const unknownWeb: Bound[] = [];
let fitting = 0;
for (let i = start; i < start + count; i++) {
  const given = i % 2 === 0;
  if (only !== (given ? 'given' : 'not-given') && only !== 'both') continue;
  const name = `${seed}/${i}`;
  const one = three ? createThreeSpanCase(name, given) : createCase(name, given, bedding, said, web);
  const t = performance.now();
  const fit = fitLine(one.job.lines[0]!, one.job.member, one.surveys, [], one.readingSd, 'us');
  const took = performance.now() - t;
  fitting += took;
  const result = score(one, fit);
  (given ? scores.given : scores.not).push(result);
  if (!three) (given ? oracles.given : oracles.not).push(...oracle(one));
  if (given && bounded) {
    bounds.push(bound(one));
    if (bedding > 0) unknownWeb.push(bound(one, Math.log(web === 'nothing' ? 3 : 2)));
  }
  if (verbose) explain(result, fit, took);
}

table('diaphragms given', scores.given, oracles.given);
if (bounded) boundTable(bounds);
if (bounded && bedding > 0) {
  console.log("  the same, not told the web's hold:");
  boundTable(unknownWeb);
}
table('diaphragms not given', scores.not, oracles.not);
if (three) {
  pierTable('diaphragms given', scores.given);
  pierTable('diaphragms not given', scores.not);
}
failures([...scores.given, ...scores.not]);
console.log(`\n${count} girders, mean fit ${(fitting / count).toFixed(0)} ms`);

function target(rotation: number): number {
  return Math.max(0.05 * Math.abs(rotation), 0.003);
}

function table(title: string, list: readonly Score[], best: readonly OracleZone[]): void {
  const zones = list.flatMap((s) => s.zones);
  const found = zones.filter((z) => z.found);
  const share = (good: number, all: number) =>
    all === 0 ? '    –' : `${((100 * good) / all).toFixed(1)} %`.padStart(7);
  const row = (name: string, target: string, good: number, all: number) =>
    console.log(`  ${name.padEnd(52)} ${share(good, all)}  ${`${good}/${all}`.padStart(9)}  ${target}`);
  const edges = found.flatMap((z) => z.edges);
  const coreEdges = found.flatMap((z) => z.coreEdges);
  const sum = (f: (s: Score) => number) => list.reduce((total, s) => total + f(s), 0);
  console.log(`\n${title}: ${list.length} girders`);
  row('zones of strain ratio 5+ missed', '≤ 2 %', zones.length - found.length, zones.length);
  row(
    'girders with a false plastic zone',
    '≤ 2 %',
    list.filter((s) => s.falseZones.length > 0).length,
    list.length,
  );
  row('rotation within max(5 %, 3 mrad)', '≥ 95 %', found.filter((z) => z.withinTarget).length, found.length);
  row(
    "  the oracle that knows every zone's shape, same readings",
    '(bound)',
    best.filter((z) => Math.abs(z.error) <= target(z.truth.rotation)).length,
    best.length,
  );
  row(
    '  zones whose stated u lets 95 % be inside the target',
    '(bound)',
    found.filter((z) => 1.96 * z.found!.rotationU <= target(z.truth.rotation)).length,
    found.length,
  );
  row('edges within one spacing (first yield)', '≥ 90 %', edges.filter(Boolean).length, edges.length);
  row('edges within one spacing (core)', '', coreEdges.filter(Boolean).length, coreEdges.length);
  row('95 % intervals of rotation cover', '92–98 %', found.filter((z) => z.covered).length, found.length);
  row(
    'baseline error at the blow ≤ 2 u',
    '≥ 95 %',
    list.filter((s) => Math.abs(s.baselineRatio) <= 2).length,
    list.length,
  );
  row(
    'blunders set aside',
    '≥ 95 %',
    sum((s) => s.blundersFound),
    sum((s) => s.blunders),
  );
  row(
    'good readings set aside',
    '≤ 0.5 %',
    sum((s) => s.goodSetAside),
    sum((s) => s.good),
  );
}

/** Rotations of girders of three spans, and of the zones that yielded over a pier or within 3 ft of it alone. */
function pierTable(title: string, list: readonly Score[]): void {
  const all = list.flatMap((s) => s.zones.map((zone) => ({ zone, piers: s.case.truth.options.piers ?? [] })));
  const near = all.filter(({ zone: { truth }, piers }) =>
    piers.some((pier) => truth.from < pier + NEAR_PIER && truth.to > pier - NEAR_PIER),
  );
  const line = (name: string, zones: readonly ZoneScore[]) => {
    const found = zones.filter((z) => z.found);
    const share = (good: number) =>
      found.length === 0 ? '–' : `${((100 * good) / found.length).toFixed(1)} % (${good}/${found.length})`;
    const inside = found.filter(
      (z) => Math.abs(z.error) <= Math.max(0.1 * Math.abs(z.truth.rotation), 0.006),
    );
    console.log(
      `  ${name.padEnd(28)} missed ${zones.length - found.length}/${zones.length}, rotation within max(10 %, 6 mrad) ${share(inside.length)}, 95 % intervals cover ${share(found.filter((z) => z.covered).length)}`,
    );
  };
  console.log(`\nthree spans, ${title}`);
  line(
    'all zones',
    all.map(({ zone }) => zone),
  );
  line(
    'at a pier',
    near.map(({ zone }) => zone),
  );
}

/** What an estimator told the simulator's mechanics, the reading sd and the wrong readings could reach (`zones-bound.ts`). */
function boundTable(list: readonly Bound[]): void {
  const zones = list.flatMap((b) => b.zones);
  const blunders = list.flatMap((b) => b.blunders);
  const mean = (values: readonly number[]) =>
    values.length === 0
      ? '    –'
      : `${((100 * values.reduce((a, b) => a + b, 0)) / values.length).toFixed(1)} %`.padStart(7);
  const inside = (u: number, limit: number) => 2 * normalCdf(limit / Math.max(u, 1e-12), 0, 1) - 1;
  console.log('  at best, told the mechanics, the reading sd and the wrong readings (information bound):');
  console.log(
    `    rotation within max(5 %, 3 mrad)                   ${mean(zones.map((z) => inside(z.rotationU, target(z.truth.rotation))))}`,
  );
  console.log(
    `    that estimator run on these readings               ${mean(zones.map((z) => (Math.abs(z.error) <= target(z.truth.rotation) ? 1 : 0)))}  ${zones.length} zones`,
  );
  console.log(
    `    edges within one spacing                           ${mean(zones.flatMap((z) => [inside(z.fromU, z.spacing), inside(z.toU, z.spacing)]))}`,
  );
  console.log(
    `    blunders further from the rest than ${THRESHOLD} sd            ${mean(blunders.map((b) => normalCdf(b.ratio - THRESHOLD, 0, 1)))}`,
  );
}

/** Which girders failed what, one line each. */
function failures(list: readonly Score[]): void {
  console.log('\nfailures (seed: what)');
  for (const s of list) {
    const what = [
      ...s.zones
        .filter((z) => !z.found)
        .map((z) => `missed ${(z.truth.rotation * 1000).toFixed(0)} mrad at ${z.truth.centre.toFixed(1)} m`),
      ...s.zones
        .filter((z) => z.found && !z.covered)
        .map(
          (z) =>
            `${(z.truth.rotation * 1000).toFixed(0)} mrad off by ${(z.error * 1000).toFixed(1)}, u ${(z.found!.rotationU * 1000).toFixed(1)}`,
        ),
      ...s.falseZones.map((z) => `false zone ${z.from.toFixed(1)}–${z.to.toFixed(1)} m`),
      ...(s.blundersFound < s.blunders
        ? [`${s.blunders - s.blundersFound} of ${s.blunders} blunders kept`]
        : []),
      ...(s.goodSetAside > 0 ? [`${s.goodSetAside} good readings set aside`] : []),
      ...(Math.abs(s.baselineRatio) > 2 ? [`baseline ${s.baselineRatio.toFixed(1)} u`] : []),
    ];
    if (what.length > 0)
      console.log(`  ${s.case.seed}${s.case.diaphragmsGiven ? '' : ' (not given)'}: ${what.join('; ')}`);
  }
}

function explain(s: Score, fit: ReturnType<typeof fitLine>, took: number): void {
  const f = (v: number, d = 2) => v.toFixed(d);
  const { options, truth, set } = s.case;
  const bad =
    s.falseZones.length > 0 ||
    s.zones.some((z) => !z.withinTarget || !z.covered) ||
    s.blundersFound < s.blunders ||
    s.goodSetAside > 0 ||
    Math.abs(s.baselineRatio) > 2;
  if (!bad) return;
  console.log(
    `\n${s.case.seed} ${s.case.diaphragmsGiven ? 'given' : 'NOT given'} n=${set.readings.length} sd ${f(options.sd * 1000)} mm, spacing ${f(options.stations[1]! - options.stations[0]!)} m, ${f(took, 0)} ms, blunders ${s.blundersFound}/${s.blunders} (${set.blunders.map((b) => `${b.kind} ${f(b.station)} ${f(b.change * 1000, 1)}`).join(', ')}), good aside ${s.goodSetAside} ${fit.surveys[0]!.setAside.map((a) => f(a.station)).join(' ')}, baseline ${f(s.baselineRatio)}`,
  );
  console.log(
    `  impacts ${truth.options.impacts.map((i) => f(i.station)).join(' ')}; diaphragms ${truth.options.diaphragms.map((d) => f(d.station)).join(' ')}`,
  );
  for (const z of truth.zones) {
    const m = s.zones.find((x) => x.truth === z);
    console.log(
      `  true  ${f(z.from)}–${f(z.to)} (core ${f(z.core.from)}–${f(z.core.to)}) rot ${f(z.rotation * 1000, 1)} µ ${f(z.strainRatio, 1)}${m ? (m.withinTarget ? ' ok' : ' BAD') + (m.covered ? '' : ' UNCOVERED') : ' (small)'}`,
    );
  }
  for (const z of fit.zones)
    console.log(
      `  found ${f(z.from)}±${f(z.fromU)}–${f(z.to)}±${f(z.toU)} rot ${f(z.rotation * 1000, 1)} ± ${f(z.rotationU * 1000, 1)} µ ${f(z.strainRatio.peak, 1)}±${f(z.strainRatio.peakU, 1)}${z.strainRatio.lowerBound ? ' lower' : ''} ${z.class}${s.falseZones.includes(z) ? ' FALSE' : ''}`,
    );
}

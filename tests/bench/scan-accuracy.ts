/**
 * `npm run bench:scan-accuracy [-- --quick --seed 1 --widths 5 --keep FOLDER --only WORDS]`: `scan` is run in this process on clouds of struck
 * girders cast by tests/bench/raycast/ (which shares nothing with the reader), and every station it would import is held
 * against the exact truth. The set-up says "leastSd": 0, because these scans have none of the faults it stands for.
 * `--widths 5` reads every cloud with so many widths in the job, drawn about the plate's as widths are believed to be (normal, sd
 * 1.5 mm): u has that doubt in it, so that over the true width alone it covers too much.
 * `--quick` casts fewer clouds; `--keep` keeps the clouds, for a closer look and for the next run; `--only` prints the tables
 * whose heading has these words. `--set-up` holds sweep and camber lines against the truth as surveys do, less a straight line, by the u of their readings.
 */
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { addScan } from '../../src/cli/commands/scan.ts';
import { runInProcess } from '../cli/in-process.ts';
import { createRandom } from '../mechanics/random.ts';
import { flangePoint, GIRDER, type GirderSpec, poseAt, truthAt } from './raycast/girder.ts';
import { castCloud, type ScanSpec, standsAlong } from './raycast/scanner.ts';

const { values: options } = parseArgs({
  options: {
    quick: { type: 'boolean', default: false },
    seed: { type: 'string', default: '1' },
    widths: { type: 'string', default: '0' },
    keep: { type: 'string' },
    only: { type: 'string', default: '' },
    'set-up': { type: 'boolean', default: false },
  },
});
const INCH = 0.0254;
const DEGREE = Math.PI / 180;
const folder = options.keep ?? mkdtempSync(join(tmpdir(), 'sweepbook-accuracy-'));
mkdirSync(folder, { recursive: true });

type Hit = readonly [push: number, tilt: number, lift: number];
/** Hits of the table: push in, tilt degrees, lift in. */
const HITS: readonly Hit[] = [
  [0, 0, 0],
  [9, 0, 0],
  [9, 14, 1.5],
  [18, 14, 2.5],
  [15, 23, 3.5],
  [18, 27, 4.5],
  [25, 30, 6],
  [12, 10, 10],
];
const USUAL = HITS[4]!;
/** Points farther apart than this, m, tell a web nowhere, and a line without a station refuses the whole scan. */
const WEB_SPACING = 0.02;
const LINES = ['edge', 'other-edge', 'camber', 'tilt', 'plumb'] as const;
type LineName = (typeof LINES)[number];

/** Errors of one line of one cloud. */
interface Scored {
  readonly stations: number;
  readonly unread: number;
  /** m: the error of the worst station, the sd stated there, and the root mean square. */
  readonly worst: number;
  readonly statedAtWorst: number;
  readonly rms: number;
  /** Stations within 1.96 of the sd stated, and those off by more than 4 of it. */
  readonly within: number;
  readonly silent: readonly { readonly station: number; readonly error: number; readonly u: number }[];
}

type Outcome = { readonly lines: Partial<Record<LineName, Scored>>; readonly refused: string | null };

/** What of a case is not as it was cast: the cloud on its way to the file, and the width the job states, m. */
interface Change {
  readonly cloud?: (cloud: Float64Array) => Float64Array;
  readonly jobWidth?: number;
}

const usual: Omit<ScanSpec, 'stands'> = { spacing: 0.006, noise: 0.002, step: 0, mast: true };
/** What a plate's width may differ by from the one a job states, m: the reader's own belief (src/scan/flange-width.ts). */
const WIDTH_SD = 0.0015;
const widths = Number(options.widths);
let job = 0;

try {
  const { quick } = options;
  const inside = (g: GirderSpec, count = 2) => standsAlong(g, count, 1);
  if (heading('Push and tilt: two stands inside, 6 mm, noise 2 mm, no steps; line by line'))
    for (const hit of quick ? HITS.filter((_, i) => i % 2 === 0) : HITS) {
      const g = struck(hit);
      show(named(hit), await run(g, { ...usual, stands: inside(g) }));
    }
  if (heading('From outside: the edge asked for is the far one, turned up behind the flange'))
    for (const hit of quick ? [USUAL] : [HITS[2]!, USUAL, HITS[6]!]) {
      const g = struck(hit);
      show(named(hit), await run(g, { ...usual, stands: standsAlong(g, 2, -1) }));
    }
  if (heading(`Spacing (${named(USUAL)}, two stands, noise 2 mm)`))
    for (const spacing of quick ? [0.01, 0.02, 0.04] : [0.003, 0.006, 0.01, 0.016, 0.02, 0.03, 0.04]) {
      const g = struck(USUAL);
      show(`${1000 * spacing} mm`, await run(g, { ...usual, spacing, stands: inside(g) }));
    }
  if (heading(`Noise (${named(USUAL)}, two stands, 6 mm)`))
    for (const noise of quick ? [0.004] : [0.001, 0.002, 0.003, 0.004]) {
      const g = struck(USUAL);
      show(`${1000 * noise} mm`, await run(g, { ...usual, noise, stands: inside(g) }));
    }
  if (heading(`The job's width is not the plate's (${named(USUAL)}, two stands, 10 mm)`)) {
    const likely: [Outcome, number][] = [];
    for (const off of quick ? [-0.0015, 0, 0.0015] : [-0.003, -0.0015, 0, 0.0015, 0.003]) {
      const g = struck(USUAL);
      const spec = { ...usual, spacing: 0.01, stands: inside(g) };
      const outcome = await run(g, spec, { jobWidth: g.flangeWidth - off });
      show(`plate ${1000 * off} mm wider`, outcome);
      likely.push([outcome, Math.exp(-((off / 0.0015) ** 2) / 2)]);
    }
    // The u of an edge seen along its face is mostly doubt about the width: it is right over plates as they come.
    for (const line of LINES) {
      const share = ([{ lines }]: (typeof likely)[number]) =>
        (lines[line]?.within ?? 0) / Math.max(1, lines[line]?.stations ?? 0);
      const all = likely.reduce((sum, [, weight]) => sum + weight, 0);
      const within = likely.reduce((sum, each) => sum + each[1] * share(each), 0) / all;
      console.log(
        `  by how likely each is (normal, sd 1.5 mm): ${line} ${(100 * within).toFixed(0)} % in 95 %`,
      );
    }
  }
  if (heading('Steps between stands, and how many stands (10 mm; hits together)'))
    for (const step of quick ? [0, 0.005] : [0, 0.002, 0.005]) {
      for (const stands of quick ? [2, 4] : [1, 2, 3, 4]) {
        const outcomes: Outcome[] = [];
        for (const hit of quick
          ? [HITS[3]!, HITS[7]!]
          : [HITS[0]!, HITS[2]!, HITS[3]!, USUAL, HITS[5]!, HITS[7]!]) {
          const g = struck(hit);
          outcomes.push(await run(g, { ...usual, spacing: 0.01, step, stands: inside(g, stands) }));
        }
        show(`step ${1000 * step} mm, ${stands} stand(s)`, together(outcomes));
      }
    }
  if (heading('Files that are not as scanned (step 2 mm, two stands, 10 mm)')) {
    const g = struck(USUAL);
    const spec = { ...usual, spacing: 0.01, step: 0.002, stands: inside(g) };
    show('points shuffled', await run(g, spec, { cloud: shuffled }));
    show(
      'single precision at 600 km',
      await run(g, spec, { cloud: (c) => c.map((v) => Math.fround(v + 6e5) - 6e5) }),
    );
  }
} finally {
  if (options.keep === undefined) rmSync(folder, { recursive: true, force: true });
}

/** Every point once, in an order that says nothing. */
function shuffled(cloud: Float64Array): Float64Array {
  const random = createRandom('shuffle');
  const order = Uint32Array.from({ length: cloud.length / 3 }, (_, i) => i);
  for (let i = order.length - 1; i > 0; i--) {
    const k = random.integer(0, i);
    [order[i], order[k]] = [order[k]!, order[i]!];
  }
  const out = new Float64Array(cloud.length);
  order.forEach((from, i) => {
    out.set(cloud.subarray(3 * from, 3 * from + 3), 3 * i);
  });
  return out;
}

function named([push, tilt, lift]: Hit): string {
  return `${push} in, ${tilt} deg, ${lift} in up`;
}

function struck([push, tilt, lift]: Hit): GirderSpec {
  return { ...GIRDER, hit: { push: push * INCH, tilt: tilt * DEGREE, lift: lift * INCH } };
}

/** Reads a cloud with the width a case states, else with the plate's own or, by `--widths`, with several drawn about it. */
async function run(g: GirderSpec, spec: ScanSpec, change: Change = {}): Promise<Outcome> {
  if (widths === 0 || change.jobWidth !== undefined) return once(g, spec, change);
  const outcomes: Outcome[] = [];
  for (let k = 0; k < widths; k++) {
    const off =
      WIDTH_SD *
      createRandom(JSON.stringify([options.seed, g, spec]))
        .fork(`width ${k}`)
        .normal();
    outcomes.push(await once(g, spec, { ...change, jobWidth: g.flangeWidth + off }));
  }
  return together(outcomes);
}

/** Casts (or takes the cloud kept from an earlier run), scans all lines with one command, and scores. */
async function once(g: GirderSpec, spec: ScanSpec, change: Change): Promise<Outcome> {
  const cloud = cloudOf(g, spec);
  const home = join(folder, `case-${++job}`);
  // A kept folder has the job of the run before: its survey would be this one a second time.
  rmSync(home, { recursive: true, force: true });
  mkdirSync(home, { recursive: true });
  writeFileSync(join(home, 'cloud.ply'), ply(change.cloud === undefined ? cloud : change.cloud(cloud)));
  writeFileSync(join(home, 'job.json'), JSON.stringify(jobOf(g, change.jobWidth ?? g.flangeWidth)));
  writeFileSync(join(home, 'scan.json'), JSON.stringify(setUpOf(g, spec.spacing <= WEB_SPACING), null, 2));
  const said = await runInProcess(
    ['scan', 'cloud.ply', '--job', '.', '--cycle', '0', '--set-up', 'scan.json', '--json'],
    [addScan],
    { cwd: home, now: () => new Date('2031-05-06T07:08:09Z') },
  );
  if (options.keep === undefined) rmSync(home, { recursive: true, force: true });
  if (said.status !== 0) return { lines: {}, refused: said.err.replace(/\s+/g, ' ').slice(0, 300) };
  const read = JSON.parse(said.out).lines as (Read & { line: { name: LineName } })[];
  const lines: Partial<Record<LineName, Scored>> = {};
  for (const each of read)
    lines[each.line.name] = score(g, change.jobWidth ?? g.flangeWidth, each.line.name, each);
  return { lines, refused: null };
}

/** A cloud is cast once for its girder, scan and seed: a kept folder has it for the next run. */
function cloudOf(g: GirderSpec, spec: ScanSpec): Float64Array {
  const key = JSON.stringify([options.seed, g, spec]);
  const file = join(folder, `${createHash('sha256').update(key).digest('hex').slice(0, 16)}.xyz`);
  if (existsSync(file)) {
    const bytes = readFileSync(file);
    return new Float64Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength));
  }
  const cloud = castCloud(g, spec, createRandom(key).fork('cloud'));
  writeFileSync(file, Buffer.from(cloud.buffer, cloud.byteOffset, cloud.byteLength));
  return cloud;
}

/** A line as `scan --json` prints it. */
interface Read {
  readonly stations: readonly { station: number; offset: number; u: number; placeU: number }[];
  readonly unread: readonly unknown[];
}

function score(g: GirderSpec, width: number, line: LineName, read: Read): Scored {
  const ends = [truthAt(g, 0), truthAt(g, g.span)] as const;
  const chord = (x: number, of: (t: ReturnType<typeof truthAt>) => number) =>
    of(ends[0]) + (x / g.span) * (of(ends[1]) - of(ends[0]));
  const truth = (x: number): number => {
    const t = truthAt(g, x);
    if (line === 'edge') return t.positive.y - chord(x, (e) => e.positive.y);
    if (line === 'other-edge') return t.negative.y - chord(x, (e) => e.negative.y);
    if (line === 'camber') return t.under.z - chord(x, (e) => e.under.z);
    // The web's head stays where it was; its foot goes with the flange.
    if (line === 'plumb') return -flangePoint(poseAt(g, x), 0, g.flangeThickness).y;
    // Over the width the job states, right or not.
    return Math.tan(t.tilt) * width;
  };
  // The place itself, as the cloud has it; or, with --set-up, as a survey of the job has it: against a straight line of its own.
  const place = read.stations.map(({ station, offset, placeU }) => ({
    station,
    error: offset - truth(station),
    u: placeU,
  }));
  const errors =
    options['set-up'] && line !== 'tilt' && line !== 'plumb'
      ? lessLine(place.map((each, i) => ({ ...each, u: read.stations[i]!.u })))
      : place;
  const worst = errors.reduce((a, b) => (Math.abs(b.error) > Math.abs(a.error) ? b : a), {
    station: 0,
    error: 0,
    u: 0,
  });
  return {
    stations: errors.length,
    unread: read.unread.length,
    worst: Math.abs(worst.error),
    statedAtWorst: worst.u,
    rms: Math.sqrt(errors.reduce((sum, e) => sum + e.error ** 2, 0) / Math.max(1, errors.length)),
    within: errors.filter((e) => Math.abs(e.error) <= 1.96 * e.u).length,
    silent: errors.filter((e) => Math.abs(e.error) > 4 * e.u),
  };
}

/** Errors less their least-squares straight line. */
function lessLine<T extends { readonly station: number; readonly error: number }>(all: readonly T[]): T[] {
  const mean = (of: (each: T) => number) => all.reduce((sum, each) => sum + of(each), 0) / all.length;
  const [x, y] = [mean((each) => each.station), mean((each) => each.error)];
  const slope =
    mean((each) => (each.station - x) * (each.error - y)) / mean((each) => (each.station - x) ** 2);
  return all.map((each) => ({ ...each, error: each.error - y - slope * (each.station - x) }));
}

/** Several clouds as one: the worst of them, the root mean square of all stations, counts added. */
function together(outcomes: readonly Outcome[]): Outcome {
  const lines: Partial<Record<LineName, Scored>> = {};
  for (const line of LINES) {
    const all = outcomes.flatMap((o) => o.lines[line] ?? []);
    if (all.length === 0) continue;
    const sum = (of: (s: Scored) => number) => all.reduce((total, s) => total + of(s), 0);
    const worst = all.reduce((a, b) => (b.worst > a.worst ? b : a));
    lines[line] = {
      stations: sum((s) => s.stations),
      unread: sum((s) => s.unread),
      worst: worst.worst,
      statedAtWorst: worst.statedAtWorst,
      rms: Math.sqrt(sum((s) => s.rms ** 2 * s.stations) / sum((s) => s.stations)),
      within: sum((s) => s.within),
      silent: all.flatMap((s) => s.silent),
    };
  }
  return { lines, refused: outcomes.flatMap((o) => o.refused ?? [])[0] ?? null };
}

/** Prints the heading of a table, if it is wanted. */
function heading(text: string): boolean {
  if (!text.toLowerCase().includes(options.only.toLowerCase())) return false;
  console.log(`\n${text}`);
  console.log(
    '  case                          line        worst mm  u there  rms mm  in 95 %  read  not  over 4 u',
  );
  return true;
}

function show(name: string, outcome: Outcome): void {
  for (const line of LINES) {
    const s = outcome.lines[line];
    if (s === undefined) continue;
    const mm = (x: number, width: number) => (1000 * x).toFixed(2).padStart(width);
    console.log(
      `  ${name.padEnd(28)}  ${line.padEnd(10)}${mm(s.worst, 10)}${mm(s.statedAtWorst, 9)}${mm(s.rms, 8)}` +
        `${`${((100 * s.within) / Math.max(1, s.stations)).toFixed(0)} %`.padStart(9)}${String(s.stations).padStart(6)}` +
        `${String(s.unread).padStart(5)}${String(s.silent.length).padStart(10)}`,
    );
    for (const e of s.silent)
      console.log(
        `    off by more than 4 u: ${line} at ${e.station.toFixed(2)} m by ${mm(e.error, 0)} mm, u ${mm(e.u, 0)} mm`,
      );
  }
  if (outcome.refused !== null) console.log(`  ${name.padEnd(28)}  refused: ${outcome.refused}`);
}

function jobOf(g: GirderSpec, width: number) {
  const line = (kind: string) => ({ kind, bearings: [0, g.span], positive: 'as picked', standoff: 0 });
  return {
    job: 'Cast girder',
    units: 'si',
    member: {
      span: g.span,
      yieldStress: '345 MPa',
      flangeWidth: Number((1000 * width).toFixed(3)),
      flangeThickness: 1000 * g.flangeThickness,
      webThickness: 1000 * g.webThickness,
      depth: 1000 * g.depth,
    },
    lines: {
      edge: line('sweep'),
      'other-edge': line('sweep'),
      camber: line('camber'),
      tilt: line('tilt'),
      plumb: line('plumb'),
    },
    acceptance: [{ line: 'edge', limit: 12, over: 'whole line' }],
  };
}

/** The picks are exact, so that offsets can be held against truth without taking a line out of the errors. */
function setUpOf(g: GirderSpec, web: boolean) {
  const on = (u: number, v: number) =>
    [0, g.span].map((x) => {
      const p = flangePoint(poseAt(g, x), u, v);
      return [x, p.y, p.z];
    });
  const [half, mid] = [g.flangeWidth / 2, g.flangeThickness / 2];
  const onWeb = [0, g.span].map((x) => [x, 0, g.depth / 2]);
  const line = (picks: number[][], direction: number[], more: object = {}) => ({
    from: picks[0],
    to: picks[1],
    direction,
    ...more,
  });
  return {
    units: 'm',
    leastSd: 0,
    lines: {
      edge: line(on(half, mid), [0, 1, 0], { edge: 'positive' }),
      'other-edge': line(on(-half, mid), [0, 1, 0], { edge: 'negative' }),
      camber: line(on(0, 0), [0, 0, 1]),
      tilt: line(on(0, 0), [0, 0, 1], { across: [0, 1, 0] }),
      ...(web ? { plumb: line(onWeb, [0, 1, 0], { across: [0, 0, 1] }) } : {}),
    },
  };
}

/** Doubles, so that the file adds no rounding of its own. */
function ply(points: Float64Array): Uint8Array {
  const head = `ply\nformat binary_little_endian 1.0\nelement vertex ${points.length / 3}\nproperty double x\nproperty double y\nproperty double z\nend_header\n`;
  return Buffer.concat([Buffer.from(head), Buffer.from(points.buffer, points.byteOffset, points.byteLength)]);
}

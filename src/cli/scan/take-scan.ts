import { existsSync, readFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { inertText } from '../../inert-text.ts';
import { InputError } from '../../input-error.ts';
import type { Job } from '../../job/job.ts';
import { readDate, readTime } from '../../read/cells.ts';
import { readOptions, readReadings } from '../../read/readings-csv.ts';
import { type Alignment, alignScans, collectPatches, type RigidMotion } from '../../scan/align.ts';
import type { PointSink } from '../../scan/cloud.ts';
import { extractLine, type ScanProfile } from '../../scan/extract-line.ts';
import { profileCsv } from '../../scan/profile-csv.ts';
import { parseScanSetUp, type ScanSetUp, scanSetUp } from '../../scan/set-up.ts';
import { CLOUD_UNITS } from '../../scan/units.ts';
import type { Vec3 } from '../../scan/vector.ts';
import type { ReadingState } from '../../survey/survey.ts';
import type { Io } from '../io.ts';
import { progressBar } from '../progress-bar.ts';
import { hashBytes } from '../store/hash-file.ts';
import { keepFiles } from '../store/keep-files.ts';
import { readJobFile } from '../store/read-job-file.ts';
import { type CloudRead, readCloud } from './read-cloud.ts';
import { cloudText, profileText } from './scan-text.ts';

export interface ScanRequest {
  /** Absolute paths. */
  readonly cloud: string;
  readonly job: string;
  readonly jobGiven: string;
  /** A set-up given as options, or null: read from a file. */
  readonly given: unknown;
  readonly setUp: string | null;
  readonly units: string | null;
  readonly columns: readonly string[] | null;
  readonly line: string | null;
  readonly cycle: number;
  readonly state: ReadingState;
  readonly date: string | null;
  readonly time: string | null;
  readonly temperature: string | null;
  readonly output: 'text' | 'json' | 'csv';
  readonly keep: boolean;
  /** Absolute path of the scan whose coordinates the set-up is in, or null: this scan's own. */
  readonly alignTo: string | null;
  readonly waitMs: number;
}

/** Reads the cloud once, takes every line asked for, and keeps the survey in the job like any import. */
export async function takeScan(io: Io, request: ScanRequest): Promise<void> {
  const job = readJobFile(request.job);
  const occasion = occasionOf(request);
  const setUp = findSetUp(io, job, request);
  const lines =
    request.line === null ? setUp.lines : setUp.lines.filter((each) => each.name === request.line);
  if (lines.length === 0) {
    throw new InputError('no line to take from this cloud', [
      {
        file: 'scan set-up',
        found: request.line === null ? 'no lines' : `no line "${request.line}"`,
        expected: 'lines with from, to and direction',
      },
    ]);
  }
  const extractors = lines.map((line) =>
    extractLine(line, CLOUD_UNITS[setUp.units], {
      flangeThickness: job.member.flangeThickness,
      leastU: setUp.leastU,
    }),
  );
  const sinks = extractors.map((each) => each.sink);
  const sink: PointSink =
    sinks.length === 1
      ? sinks[0]!
      : (x, y, z, count) => {
          for (const each of sinks) each(x, y, z, count);
        };
  const columns = request.columns ?? setUp.columns;
  const aligned =
    request.alignTo === null ? null : await alignTo(io, request.alignTo, request.cloud, columns, setUp);
  const cloud = await readWithBar(
    io,
    request.cloud,
    columns,
    aligned === null ? sink : movedSink(aligned.alignment.motion, CLOUD_UNITS[setUp.units], sink),
  );
  const name = basename(request.cloud);
  const profiles = extractors.map((each) => each.profile());
  const nothing = profiles.filter((profile) => profile.stations.length === 0);
  if (nothing.length > 0) {
    throw new InputError(
      'nothing was imported: no station of a line could be read from this cloud',
      nothing.map((profile) => ({
        file: name,
        column: profile.line.name,
        found: profile.unread[0]?.reason ?? 'no station',
        expected: `steel within reach of the picked points (${describeRejections(profile)})`,
      })),
    );
  }
  const csv = profileCsv(job, profiles, {
    ...occasion,
    source: { name, sha256: cloud.sha256 },
    aligned: aligned?.words ?? null,
  });
  const kept = request.keep ? await keep(io, request, job, csv, name, cloud) : null;
  if (request.output === 'csv') {
    io.out(csv);
    io.err(cloudText(name, cloud));
    for (const profile of profiles) io.err(profileText(profile, job.units));
    return;
  }
  if (request.output === 'json') {
    io.out(
      `${JSON.stringify({ schema: 'sweepbook/scan/1', units: 'SI', source: { name, ...cloud }, ...occasion, file: kept?.file ?? null, alignment: aligned?.alignment ?? null, lines: profiles }, null, 2)}\n`,
    );
    return;
  }
  io.out(cloudText(name, cloud));
  if (aligned !== null) io.out(`${aligned.words}\n`);
  for (const profile of profiles) io.out(profileText(profile, job.units));
  if (kept !== null) {
    io.out(
      kept.already
        ? `The job holds this survey already (${kept.file}); nothing to do.\n`
        : `Kept as ${kept.file}, ledger record ${kept.seq}.\n`,
    );
    io.err(`Next: sweepbook status ${request.jobGiven}\n`);
  }
}

/** Brings this scan onto the reference scan by the patches of the set-up; refuses when a patch does not close. */
async function alignTo(
  io: Io,
  reference: string,
  cloud: string,
  columns: readonly string[] | null,
  setUp: ScanSetUp,
) {
  if (setUp.patches.length < 3) {
    throw new InputError('the scans cannot be aligned', [
      {
        file: 'scan set-up',
        column: 'patches',
        found: `${setUp.patches.length} patches`,
        expected: 'at least 3, on undamaged steel or masonry that faces different ways',
      },
    ]);
  }
  const metres = CLOUD_UNITS[setUp.units];
  const planes = async (path: string) => {
    const collector = collectPatches(setUp.patches, metres);
    await readWithBar(io, path, columns, collector.sink);
    return collector.planes(basename(path));
  };
  const alignment = alignScans(await planes(reference), await planes(cloud));
  const open = alignment.closure.filter((each) => !each.agrees);
  if (open.length > 0) {
    throw new InputError(
      `the scans do not close on ${open.length} of ${alignment.closure.length} reference patches; nothing was imported`,
      open.map((each) => ({
        file: basename(cloud),
        column: `patch ${each.name}`,
        found: `${(each.gap * 1000).toFixed(1)} mm off when the others are aligned (standard uncertainty ${(each.u * 1000).toFixed(1)} mm)`,
        expected:
          'undamaged patches that have not moved; take a patch that moved, or is hidden, out of the set-up',
      })),
    );
  }
  return { alignment, words: alignmentWords(alignment, basename(reference)) };
}

/** A sink behind a rigid motion (in metres), for points in the cloud's unit. */
function movedSink(motion: RigidMotion, metres: number, sink: PointSink): PointSink {
  const [a, b, c] = motion.rotation as [Vec3, Vec3, Vec3];
  const [dx, dy, dz] = motion.shift.map((v) => v / metres) as [number, number, number];
  return (x, y, z, count) => {
    for (let i = 0; i < count; i++) {
      const [px, py, pz] = [x[i]!, y[i]!, z[i]!];
      x[i] = a[0] * px + a[1] * py + a[2] * pz + dx;
      y[i] = b[0] * px + b[1] * py + b[2] * pz + dy;
      z[i] = c[0] * px + c[1] * py + c[2] * pz + dz;
    }
    sink(x, y, z, count);
  };
}

function alignmentWords(a: Alignment, reference: string): string {
  const mm = (v: number) => (v * 1000).toFixed(1);
  const mrad = (v: number) => (v * 1000).toFixed(2);
  const axes = ['x', 'y', 'z'];
  const shift = axes.map((axis, k) => `${axis} ${mm(a.shift[k]!)} ± ${mm(2 * a.shiftU[k]!)}`).join(', ');
  const turn = axes.map((axis, k) => `${axis} ${mrad(a.turn[k]!)} ± ${mrad(2 * a.turnU[k]!)}`).join(', ');
  const free = a.free.length === 0 ? '' : `; not held by the patches: ${a.free.join('; ')}`;
  return `Aligned to ${inertText(reference)} on ${a.closure.length} patches: shift ${shift} mm, turn about ${turn} mrad (k = 2); every patch closes${free}`;
}

/** Reads a cloud with a progress bar on a terminal. */
export async function readWithBar(
  io: Io,
  path: string,
  columns: readonly string[] | null,
  sink: PointSink,
): Promise<CloudRead> {
  const bar = progressBar(io);
  try {
    return await readCloud(path, columns, sink, bar.show);
  } finally {
    bar.clear();
  }
}

/** The set-up in force: options, the named file, or scan.json of the job; the unit given twice must agree. */
export function findSetUp(
  io: Io,
  job: Job,
  request: Pick<ScanRequest, 'given' | 'setUp' | 'units' | 'job'>,
): ScanSetUp {
  if (request.given !== null) return scanSetUp(request.given, 'options', job);
  const own = join(request.job, 'scan.json');
  const path = request.setUp ?? own;
  if (!existsSync(path)) {
    throw new InputError('where the lines lie in the cloud is not said', [
      {
        file: basename(path),
        found: 'no such file',
        expected:
          'a scan set-up (--set-up, or scan.json in the job folder), or --units, --line, --from, --to and --direction',
      },
    ]);
  }
  if (request.setUp === null) io.err('Using scan.json of the job.\n');
  const setUp = parseScanSetUp(readFileSync(path, 'utf8'), basename(path), job);
  if (request.units !== null && request.units !== setUp.units) {
    throw new InputError('the unit of the cloud is given twice, differently', [
      {
        file: basename(path),
        column: 'units',
        found: `"${setUp.units}"`,
        expected: `"${request.units}", as --units says`,
      },
    ]);
  }
  return setUp;
}

function occasionOf(request: ScanRequest) {
  const date = readDate(request.date ?? '');
  const time = readTime(request.time ?? '');
  const degrees = request.temperature === null ? null : Number(request.temperature.trim() || Number.NaN);
  const problems = [
    ...('value' in date
      ? []
      : [{ file: 'options', column: '--date', found: request.date!, expected: date.expected }]),
    ...('value' in time
      ? []
      : [{ file: 'options', column: '--time', found: request.time!, expected: time.expected }]),
    ...(degrees === null || (degrees > -60 && degrees < 1000)
      ? []
      : [
          {
            file: 'options',
            column: '--temperature',
            found: request.temperature!,
            expected: 'degrees Celsius',
          },
        ]),
  ];
  if (problems.length > 0) throw new InputError('an option could not be used', problems);
  return {
    cycle: request.cycle,
    state: request.state,
    date: 'value' in date ? date.value : null,
    time: 'value' in time ? time.value : null,
    temperature: degrees,
  };
}

function describeRejections({ rejected }: ScanProfile): string {
  return `${rejected.outsideWindow} points outside the window or beyond the ends`;
}

/** Imports the survey through the store, after reading it back as any reader of the job will. */
async function keep(io: Io, request: ScanRequest, job: Job, csv: string, source: string, cloud: CloudRead) {
  const name = `cycle-${request.cycle}-${basename(source).replace(/\.[^.]+$/, '')}.csv`;
  const read = readReadings(csv, readOptions(job, name));
  if (read.problems.length > 0)
    throw new InputError('the survey taken from the scan cannot be read back', read.problems);
  const surveys = [...new Set(read.readings.map((r) => r.line))].sort().map((line) => ({
    line,
    cycle: request.cycle,
    state: request.state,
    readings: read.readings.filter((r) => r.line === line).length,
  }));
  const result = await keepFiles(
    request.job,
    [
      {
        from: { text: csv },
        sha256: hashBytes(csv),
        into: 'scans',
        name,
        facts: {
          original: name,
          rows: read.rows,
          readings: read.readings.length,
          surveys,
          setAside: [],
          source: { name: source, sha256: cloud.sha256 },
        },
      },
    ],
    io.now().toISOString(),
    request.waitMs,
  );
  return result.seq === null
    ? { already: true, file: result.already[0]!.file, seq: null }
    : { already: false, file: result.kept[0]!.file, seq: result.seq };
}

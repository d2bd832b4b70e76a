import { InputError, type Problem } from '../../input-error.ts';
import type { Job } from '../../job/job.ts';
import { LEDGER_FILE } from '../../ledger/chain.ts';
import { checkInputs } from '../../ledger/inputs.ts';
import { sameStation } from '../../survey/marks.ts';
import type { Declaration, Mark, Reading } from '../../survey/survey.ts';
import { formatLength } from '../../units/format-length.ts';
import { parseLength } from '../../units/parse-length.ts';
import { withFolderLock } from './folder-lock.ts';
import { finishIncoming } from './keep-files.ts';
import { appendToLedger, readInputs, readLedger } from './ledger.ts';
import { openJob } from './open-job.ts';
import { requireJobFolder } from './read-job-file.ts';

export interface MarkedRows {
  readonly seq: number;
  /** Job-relative */
  readonly file: string;
  readonly rows: readonly number[];
  /** Null: every reading of the rows. */
  readonly cycles: readonly number[] | null;
  /** Stations, m; null: every one of the rows. */
  readonly stations: readonly number[] | null;
  /** How many readings that is. */
  readonly readings: number;
}

/**
 * Records a person's decision about readings of one file as one ledger record.
 *
 * @param mark `file` as the job names it, or its last part where that is unique
 * @param when ISO date-time
 * @throws InputError when the job has no such file, a row of it holds no such reading, or several and it is not said
 *   which
 */
export async function markReadings(
  folder: string,
  mark: Pick<Mark, 'action' | 'file' | 'who' | 'why'> & {
    readonly rows: readonly number[];
    /** Which readings of a row that holds several (field sheet): cycles, or all of them; null: not said. */
    readonly cycles: readonly number[] | 'all' | null;
    /** Which readings of a row of a grid: stations as the job writes them, `;` between, or "all"; left out: not said. */
    readonly stations?: string | undefined;
  },
  when: () => string,
  waitMs: number,
): Promise<MarkedRows> {
  const job = await openJob(folder);
  const names = job.files.filter((each) => each.standing !== 'missing').map((each) => each.file);
  const file = fileNamed(names, mark.file);
  const { action, rows, who, why } = mark;
  const cycles = mark.cycles === 'all' ? null : mark.cycles;
  const readings = job.readings.filter((each) => each.file === file);
  const stations = stationsSaid(mark.stations, job.job);
  const problems = rows.flatMap((row) => {
    const here = readings.filter((each) => each.row === row);
    const faults = rowProblems(file, row, cyclesIn(readings, row), mark.cycles);
    return faults.length > 0 ? faults : stationProblems(file, row, here, stations, mark.stations, job.job);
  });
  if (problems.length > 0) throw new InputError('nothing was marked.', problems);

  return withFolderLock(folder, waitMs, async () => {
    finishIncoming(folder);
    const entry = {
      ...{ kind: 'mark' as const, action, file, rows: [...rows], who, why },
      ...(cycles === null ? {} : { cycles: [...cycles] }),
      ...(stations === null ? {} : { stations: [...stations] }),
    };
    const marked = readings.filter(
      (each) =>
        rows.includes(each.row) &&
        (cycles === null || cycles.includes(each.cycle)) &&
        (stations === null || stations.some((station) => sameStation(station, each.station))),
    );
    const { seq } = appendToLedger(folder, entry, when());
    return { seq, file, rows, cycles, stations, readings: marked.length };
  });
}

/**
 * Records that a person let a file stand as it is now: an input that differs from its record, or the ledger itself.
 *
 * @throws InputError when it is no such file; readings are never accepted changed
 */
export async function acceptFile(
  folder: string,
  said: { readonly file: string; readonly who: string; readonly why: string },
  when: () => string,
  waitMs: number,
): Promise<{ readonly seq: number; readonly file: string }> {
  requireJobFolder(folder);
  const wanted = said.file.replaceAll('\\', '/').replace(/^\.\//, '');
  const known = checkInputs(readLedger(folder), readInputs(folder)).standings.map(({ file }) => file);
  const names = [...known, LEDGER_FILE];
  if (!names.includes(wanted)) {
    throw new InputError(`"${said.file}" cannot be accepted as it is.`, [
      {
        file: said.file,
        found: /^(readings|scans)\//.test(wanted)
          ? 'a file of readings, which stays as imported'
          : 'another file',
        expected: `one of ${names.join(', ')}`,
      },
    ]);
  }
  return withFolderLock(folder, waitMs, async () => {
    finishIncoming(folder);
    const { who, why } = said;
    return {
      seq: appendToLedger(folder, { kind: 'accept', file: wanted, who, why }, when()).seq,
      file: wanted,
    };
  });
}

/**
 * Records what a person says of a sheet that reads like another one (`leaveOutCopies`), as one ledger record.
 *
 * @param said.cycles only the readings of these cycles; null: the whole file
 * @throws InputError when the job has no such file, or the file no reading of such a cycle
 */
export async function declareSheet(
  folder: string,
  said: Pick<Declaration, 'action' | 'file' | 'who' | 'why'> & { readonly cycles: readonly number[] | null },
  when: () => string,
  waitMs: number,
): Promise<{ readonly seq: number; readonly file: string; readonly cycles: readonly number[] | null }> {
  const job = await openJob(folder);
  const names = job.files.filter((each) => each.standing !== 'missing').map((each) => each.file);
  const file = fileNamed(names, said.file);
  const held = new Set(job.readings.filter((each) => each.file === file).map((each) => each.cycle));
  const problems = (said.cycles ?? [])
    .filter((cycle) => !held.has(cycle))
    .map((cycle) => ({
      ...{ file, found: `no reading of cycle ${cycle}` },
      expected: `cycle ${[...held].sort((a, b) => a - b).join(' or ')}`,
    }));
  if (problems.length > 0) throw new InputError('nothing was marked.', problems);
  const { action, who, why, cycles } = said;
  return withFolderLock(folder, waitMs, async () => {
    finishIncoming(folder);
    const entry = {
      ...{ kind: 'declare' as const, action, file, who, why },
      ...(cycles === null ? {} : { cycles: [...cycles] }),
    };
    return { seq: appendToLedger(folder, entry, when()).seq, file, cycles };
  });
}

function cyclesIn(readings: readonly Reading[], row: number): number[] {
  return [...new Set(readings.filter((each) => each.row === row).map((each) => each.cycle))];
}

function rowProblems(
  file: string,
  row: number,
  held: readonly number[],
  wanted: readonly number[] | 'all' | null,
): Problem[] {
  if (held.length === 0) return [{ file, row, found: 'no reading', expected: 'the file line of a reading' }];
  if (wanted === null && held.length > 1) {
    const found = `readings of cycles ${held.join(', ')} in this row`;
    return [{ file, row, found, expected: 'to be told which', suggestion: '--cycle 3, or --cycle all' }];
  }
  if (wanted === null || wanted === 'all') return [];
  return wanted
    .filter((cycle) => !held.includes(cycle))
    .map((cycle) => ({
      file,
      row,
      found: `no reading of cycle ${cycle}`,
      expected: `cycle ${held.join(' or ')}`,
    }));
}

/** Stations as a person writes them, m; null where none are said, or all. @throws InputError for one that is none */
function stationsSaid(text: string | undefined, job: Job): readonly number[] | null {
  if (text === undefined || text.trim().toLowerCase() === 'all') return null;
  return text.split(';').map((part) => {
    const read = parseLength(part.trim(), {
      unit: job.units === 'us' ? 'ft' : 'm',
      dashed: job.dashedLengths,
      station: true,
    });
    if (read.ok) return read.metres;
    throw new InputError('nothing was marked.', [
      { file: '--station', found: `"${part.trim()}"`, expected: read.expected },
    ]);
  });
}

function stationProblems(
  file: string,
  row: number,
  held: readonly Reading[],
  wanted: readonly number[] | null,
  said: string | undefined,
  job: Job,
): Problem[] {
  const word = (metres: number) => formatLength(metres, { units: job.units, as: 'station', digits: 3 });
  const stops = [...new Set(held.map((each) => word(each.station)))];
  if (said === undefined && stops.length > 1) {
    const found = `readings at ${stops.length} stations in this row`;
    return [
      {
        ...{ file, row, found, expected: 'to be told which' },
        suggestion: `--station "${stops[0]}", or --station all`,
      },
    ];
  }
  return (wanted ?? [])
    .filter((station) => !held.some((each) => sameStation(station, each.station)))
    .map((station) => ({
      file,
      row,
      found: `no reading at ${word(station)}`,
      expected: `one of ${stops.slice(0, 30).join('; ')}`,
    }));
}

function fileNamed(names: readonly string[], given: string): string {
  const wanted = given.replaceAll('\\', '/').replace(/^\.\//, '');
  const exact = names.find((name) => name === wanted);
  if (exact !== undefined) return exact;
  const close = names.filter((name) => name.endsWith(`/${wanted}`) || wanted.endsWith(`/${name}`));
  if (close.length === 1) return close[0]!;
  throw new InputError(`the job has no file "${given}".`, [
    {
      file: given,
      found: close.length === 0 ? 'no file of this name' : `several: ${close.join(', ')}`,
      expected:
        names.length === 0
          ? 'a file of the job (it has none yet)'
          : `one of ${names.slice(0, 12).join(', ')}`,
    },
  ]);
}

import { existsSync } from 'node:fs';
import { InputError } from '../../input-error.ts';
import type { Job, Line } from '../../job/job.ts';
import { type FoundLine, lineFromPicks, linesForPicks, type Picks, pickable } from '../../scan/from-picks.ts';
import type { Io } from '../io.ts';
import { inJob } from '../store/layout.ts';
import { openJob } from '../store/open-job.ts';
import { writeAtomic } from '../store/write-atomic.ts';
import type { CloudRequest } from './cloud-request.ts';
import { readWithBar } from './read-cloud.ts';

/** A set-up found from picks, as scan.json would have it. */
export interface PickedSetUp {
  readonly raw: { readonly units: string; readonly lines: Readonly<Record<string, unknown>> };
  /** Null where the flange could not be followed: `refusal` says why, and nothing is imported. */
  readonly found: FoundLine | null;
  readonly refusal: InputError | null;
}

/** Reads the cloud once to find how the line lies in it. Imports nothing. What cannot be followed can still be shown. */
export async function setUpFromPicks(
  io: Io,
  job: Job,
  request: Pick<CloudRequest, 'cloud' | 'job' | 'columns' | 'staleBounds'> & { readonly line: string | null },
  picks: Picks,
): Promise<PickedSetUp> {
  const line = lineOf(job, request.line, picks);
  const settings = {
    flangeWidth: job.member.flangeWidth,
    flangeThickness: job.member.flangeThickness,
    leastU: 0,
    registration: null,
  };
  const finder = lineFromPicks(job, line, picks, settings, await earlierReadings(request.job, line.name));
  await readWithBar(io, request.cloud, request, finder.sink);
  const rawOf = (of: Pick<FoundLine, 'units' | 'written'>) => ({
    units: of.units,
    lines: { [line.name]: of.written },
  });
  try {
    const found = finder.found();
    return { raw: rawOf(found), found, refusal: null };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { raw: rawOf(finder.likeliest()), found: null, refusal: error };
  }
}

function lineOf(job: Job, name: string | null, picks: Picks): Line {
  const fault = (found: string, expected: string) =>
    new InputError('which line of the job the two picks are for cannot be told', [
      { file: 'options', column: '--line', found, expected },
    ]);
  if (name !== null) {
    const line = job.lines.find((each) => each.name === name);
    if (line === undefined)
      throw fault(
        `no line "${name}"`,
        `a line of the job: ${job.lines.map((each) => `"${each.name}"`).join(', ')}`,
      );
    if (!pickable(line))
      throw fault(
        `a ${line.kind} line`,
        'a line along the member, or --direction: a straight-edge lies anywhere',
      );
    return line;
  }
  const fits = linesForPicks(job, picks);
  if (fits.length === 1) return fits[0]!;
  const lines = job.lines.filter(pickable);
  const sweeps = lines.filter((each) => each.kind === 'sweep');
  if (fits.length === 0 && sweeps.length === 1) return sweeps[0]!;
  const names = (fits.length > 0 ? fits : lines).map((each) => `"${each.name}"`).join(', ');
  throw fault(
    fits.length === 0
      ? 'no line as long as the picks are apart'
      : `${fits.length} lines as long as the picks are apart`,
    `--line with one of ${names || '(the job has no line along the member)'}`,
  );
}

/** What the line read in its last cycle so far, for which side is positive. */
async function earlierReadings(folder: string, line: string) {
  const { readings } = await openJob(folder);
  const own = readings.filter((each) => each.line === line);
  const last = Math.max(...own.map((each) => each.cycle));
  return own.filter((each) => each.cycle === last);
}

/** The set-up as text of a scan.json. */
export function setUpText(raw: PickedSetUp['raw']): string {
  return `${JSON.stringify(raw, null, 2).replace(/\[\s+(-?[\d.e+-]+),\s+(-?[\d.e+-]+),\s+(-?[\d.e+-]+)\s+\]/g, '[$1, $2, $3]')}\n`;
}

/** Keeps the set-up for later scans in the same coordinates, where the job has none yet. */
export function keepSetUp(io: Io, folder: string, raw: PickedSetUp['raw']): void {
  const path = inJob(folder, 'scan.json');
  if (existsSync(path)) {
    io.err('The job has a scan.json already; it was left as it is.\n');
    return;
  }
  writeAtomic(path, setUpText(raw));
  io.err('The set-up was kept as scan.json: later scans in the same coordinates need no picks.\n');
}

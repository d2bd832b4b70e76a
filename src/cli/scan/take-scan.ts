import { basename } from 'node:path';
import { findingLine } from '../../folder/finding-line.ts';
import { InputError } from '../../input-error.ts';
import type { Job } from '../../job/job.ts';
import { readOptions } from '../../job/read-options.ts';
import { readDate, readTime } from '../../read/cells.ts';
import { readReadings } from '../../read/readings-csv.ts';
import {
  type PreviewFlange,
  SCAN_VIEW,
  type ScanViews,
  scanView,
  scanViewsText,
} from '../../report/scan-view.ts';
import { type WebView, webView } from '../../report/web-view.ts';
import { extractFlange, flangeGroups } from '../../scan/extract-flange.ts';
import { extractLine, type ScanProfile } from '../../scan/extract-line.ts';
import type { Picks } from '../../scan/from-picks.ts';
import { isFlangeLine, type LineFrame, lineFrame, type ScanLine } from '../../scan/line-frame.ts';
import { profileCsv } from '../../scan/profile-csv.ts';
import { scanSetUp } from '../../scan/set-up.ts';
import { CLOUD_UNITS } from '../../scan/units.ts';
import type { WebFoot } from '../../scan/web-fit.ts';
import { webFeet } from '../../scan/web-foot.ts';
import type { ReadingState } from '../../survey/survey.ts';
import type { Io } from '../io.ts';
import { shellWord } from '../shell-word.ts';
import { doubtsAbout } from '../store/doubts.ts';
import { hashBytes } from '../store/hash-file.ts';
import { keepFiles } from '../store/keep-files.ts';
import { inJob, REPORTS_FOLDER } from '../store/layout.ts';
import { readJobFile } from '../store/read-job-file.ts';
import { writeAtomic } from '../store/write-atomic.ts';
import { sheetPath } from '../write-sheet.ts';
import { alignedSink, alignTo, untoldWords } from './align-to.ts';
import type { CloudRead } from './cloud-read.ts';
import type { CloudRequest } from './cloud-request.ts';
import { findSetUp } from './find-set-up.ts';
import { keepSetUp, setUpFromPicks, setUpText } from './picked.ts';
import { readWithBar } from './read-cloud.ts';
import { cloudText, profileText } from './scan-text.ts';

export interface ScanRequest extends CloudRequest {
  readonly line: string | null;
  /** Two picks from which the set-up is found; null: it is given. */
  readonly picks: Picks | null;
  /** Import what was found from picks. */
  readonly yes: boolean;
  /** Where to write the preview; null: nowhere. */
  readonly preview: string | true | null;
  readonly tool: string;
  readonly state: ReadingState;
  readonly time: string | null;
  readonly temperature: string | null;
  readonly output: 'text' | 'json' | 'csv';
  readonly keep: boolean;
}

/** Reads the cloud once, takes every line asked for, and keeps the survey in the job like any import. */
export async function takeScan(io: Io, request: ScanRequest): Promise<void> {
  const job = readJobFile(request.job);
  const occasion = occasionOf(request);
  // Where things go that are written after the import: what cannot be meant is told before a large cloud is read.
  const preview = previewPath(io, request);
  if (request.picks !== null && request.yes) inJob(request.job, 'scan.json');
  const picked = request.picks === null ? null : await setUpFromPicks(io, job, request, request.picks);
  const setUp =
    picked === null ? findSetUp(io, job, 'lines', request) : scanSetUp(picked.raw, 'options', job);
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
  const metres = CLOUD_UNITS[setUp.units];
  // Frames first: a set-up that cannot be meant is told before a large cloud is read.
  for (const line of lines) lineFrame(line, metres);
  const how = { ...request, columns: request.columns ?? setUp.columns };
  const aligned = await alignTo(io, request, how, setUp, job.units);
  const settings = {
    flangeWidth: job.member.flangeWidth,
    flangeThickness: job.member.flangeThickness,
    leastU: setUp.leastU,
    registration: setUp.registration,
    alignment: aligned?.alignment ?? null,
  };
  const flanges = flangeGroups(lines.filter(isFlangeLine), metres, settings.flangeWidth).map((group) => ({
    group,
    ...extractFlange(group, metres, settings),
  }));
  const others = lines
    .filter((line) => !isFlangeLine(line))
    .map((line) => ({ line, ...extractLine(line, metres, settings) }));
  const extractors = [...flanges, ...others];
  const sinks = extractors.map((each) => each.sink);
  const cloud = await readWithBar(io, request.cloud, how, alignedSink(aligned, metres, sinks));
  const name = basename(request.cloud);
  const followed = flanges.map((each) => followFlange(each));
  const showPreview = async (outcome: string, webs: readonly WebView[]) => {
    if (preview === null) return;
    const { writePreview } = await import('./write-preview.ts');
    await writePreview(io, request, preview, {
      job,
      flanges: followed,
      webs,
      facts: {
        cloud: { name, sha256: cloud.sha256, points: cloud.points },
        cycle: request.cycle,
        outcome,
        found: picked?.found?.rows ?? [],
        assumed: picked?.found?.assumed ?? [],
        setUp: picked === null || picked.found === null ? null : setUpText(picked.raw),
      },
    });
  };
  const refusal = picked?.refusal ?? followed.find((each) => each.error !== null)?.error ?? null;
  if (refusal !== null) {
    await showPreview('Nothing was imported: the flange could not be followed.', []);
    throw refusal;
  }
  const alone = others.map((each) => each.take(feetOf(each, followed)));
  const taken = [...followed.flatMap((each) => each.profiles), ...alone.map(({ profile }) => profile)];
  const webs = alone.flatMap(({ web, profile }) =>
    web === null
      ? []
      : [webView(web, profile, job.lines.find(({ name }) => name === profile.line.name)!.positive)],
  );
  const profiles = lines.map((line) => taken.find((each) => each.line === line)!);
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
  const untold = profiles.flatMap(({ line, shared: { untold } }) => {
    const words = untoldWords(untold, job.units);
    return words === null ? [] : [`${line.name}: ${words}`];
  });
  const csv = profileCsv(job, profiles, {
    ...occasion,
    source: { name, sha256: cloud.sha256 },
    aligned: aligned === null ? [] : [aligned.words, ...untold],
  });
  const kept =
    request.keep && (picked === null || request.yes)
      ? await keepSurvey(io, request, job, csv, name, cloud)
      : null;
  if (kept !== null && !kept.already && followed.length + webs.length > 0)
    keepViews(io, request.job, kept.file, {
      cycle: request.cycle,
      sha256: hashBytes(csv),
      source: { name, sha256: cloud.sha256 },
      flanges: followed.map((each) => scanView(each, job)),
      webs,
    });
  tell();
  // Last, so that whatever becomes of it the import has been told.
  await showPreview(
    kept === null
      ? 'Nothing was imported yet.'
      : `Imported as ${kept.file}. If the picture is wrong, mark these readings aside and scan again.`,
    webs,
  );

  function tell(): void {
    for (const each of untold) io.err(`Caution: ${each}\n`);
    if (request.output === 'csv') {
      io.out(csv);
      io.err(cloudText(name, cloud));
      for (const profile of profiles) io.err(profileText(profile, job.units));
      return;
    }
    if (request.output === 'json') {
      io.out(
        `${JSON.stringify({ schema: 'sweepbook/scan/1', units: 'SI', source: { name, ...cloud }, ...occasion, file: kept?.file ?? null, alignment: aligned?.alignment ?? null, cautions: untold, lines: profiles }, null, 2)}\n`,
      );
      return;
    }
    if (picked?.found) {
      io.out('Found from the two picks:\n');
      for (const [what, found] of picked.found.rows) io.out(`  ${what}: ${found}\n`);
      for (const each of picked.found.assumed) io.out(`  assumed: ${each}\n`);
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
      if (picked !== null) keepSetUp(io, request.job, picked.raw);
      io.err(`Next: sweepbook status ${shellWord(request.jobGiven)}\n`);
    } else if (picked !== null) {
      io.out(
        `Nothing was imported. ${request.preview === null ? 'Look at it with --preview FILE.html; if' : 'If'} this is the right flange and side, say the same again with --yes.\n`,
      );
    }
  }
}

function previewPath(io: Io, { job, preview, cycle }: ScanRequest): string | null {
  if (preview === null) return null;
  const usual = `${REPORTS_FOLDER}/scan-preview-cycle-${cycle}.html`;
  return sheetPath(job, usual, preview === true ? undefined : preview, io);
}

/** Where a web stands on a flange that was followed in the same cloud; nothing for other lines. */
function feetOf(
  { line, frame }: { line: ScanLine; frame: LineFrame },
  followed: readonly Followed[],
): WebFoot[] {
  if (line.kind !== 'plumb') return [];
  return followed
    .map(({ view }) => (view === null ? [] : webFeet(view, frame, line.extent)))
    .reduce((most, feet) => (feet.length > most.length ? feet : most), []);
}

/**
 * Keeps what the reports draw beside the survey: derived, so it is no part of the record, and a place it cannot be
 * written to does not undo an import that stands.
 */
function keepViews(io: Io, folder: string, file: string, views: Omit<ScanViews, 'schema' | 'file'>): void {
  const text = scanViewsText({ schema: 'sweepbook/scan-view/1', file, ...views });
  try {
    writeAtomic(inJob(folder, file.replace(/\.csv$/, SCAN_VIEW)), text);
  } catch (error) {
    io.err(
      `Caution: the survey is imported, but what the reports draw of this scan could not be kept: ${(error as Error).message}\n`,
    );
  }
}

type Followed = PreviewFlange & { readonly error: InputError | null };

/** Follows one flange; what cannot be followed is kept with why, so that it can be shown before it is refused. */
function followFlange({
  group,
  around,
  view,
  profiles,
}: ReturnType<typeof extractFlange> & { group: readonly ScanLine[] }): Followed {
  try {
    const found = view();
    return {
      lines: group,
      around: found,
      view: found,
      refusal: null,
      profiles: profiles(found),
      error: null,
    };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    const [problem] = error.problems;
    const why =
      problem === undefined
        ? error.message
        : `${problem.column ?? ''}: found ${problem.found}, expected ${problem.expected}`;
    return { lines: group, around: around(), view: null, refusal: why, profiles: [], error };
  }
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
/** Keeps a survey taken from a cloud in the job like any import. */
export async function keepSurvey(
  io: Io,
  request: Pick<ScanRequest, 'job' | 'cycle' | 'state' | 'waitMs'>,
  job: Job,
  csv: string,
  source: string,
  cloud: Pick<CloudRead, 'sha256'>,
) {
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
  const own = read.readings.map((reading) => ({ ...reading, source: cloud.sha256 }));
  const { doubts } = await doubtsAbout(request.job, job, own, new Set([hashBytes(csv)]));
  const stops = doubts.filter((each) => each.severity === 'stop');
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
    () => io.now().toISOString(),
    request.waitMs,
  );
  if (result.seq !== null && stops.length > 0) {
    for (const stop of stops) io.err(`${findingLine(stop)}\n`);
    io.err('Imported and on the record, but not all of it counts: see the stop above (exit status 1).\n');
    io.setExit(1);
  }
  return result.seq === null
    ? { already: true, file: result.already[0]!.file, seq: null }
    : { already: false, file: result.kept[0]!.file, seq: result.seq };
}

import { type CheckedSurvey, checkReadings } from '../../doubts/check-readings.ts';
import { copiesAmong } from '../../doubts/copies.ts';
import type { Finding } from '../../finding.ts';
import { SurveyTally } from '../../folder/survey-tally.ts';
import { InputError, type Problem } from '../../input-error.ts';
import { safeCsvName } from '../../job/csv-name.ts';
import { readOptions } from '../../job/read-options.ts';
import { keptFiles } from '../../ledger/contents.ts';
import { MOST_PROBLEMS, setAsideRow, wholeFileFault } from '../../ledger/import-facts.ts';
import type { KeptFile } from '../../ledger/record.ts';
import { readReadings } from '../../read/readings-csv.ts';
import { sha256Hex } from '../../sha256.ts';
import type { Reading } from '../../survey/survey.ts';
import { utf8Bytes } from '../../utf8.ts';
import type { GivenFile } from '../folder-files.ts';
import type { JobBundle } from '../job-bundle.ts';
import type { OpenedBundle } from '../open-bundle.ts';
import { ledgerOfJob, withRecord } from './record.ts';

/** What importing one file would do. */
export interface DryFile {
  /** Name it was given under. */
  readonly name: string;
  /** Name it has or would have in the job. */
  readonly file: string;
  readonly text: string;
  readonly rows: number;
  readonly readings: readonly Reading[];
  readonly problems: readonly Problem[];
  /** Why it cannot be taken at all; null: it can. */
  readonly fault: string | null;
  /** The ledger has the same bytes already: nothing is to be done. */
  readonly already: { readonly file: string; readonly when: string } | null;
}

/** A dry run of an import: what `sweepbook check` and `add` would say, and nothing changed. */
export interface DryRun {
  readonly files: readonly DryFile[];
  readonly surveys: readonly CheckedSurvey[];
  readonly doubts: readonly Finding[];
}

export function dryRun(bundle: JobBundle, opened: OpenedBundle, given: readonly GivenFile[]): DryRun {
  const kept = [...keptFiles(ledgerOfJob(bundle)).values()];
  const byHash = new Map(kept.map((each) => [each.sha256, each]));
  const known = new Set(kept.map((each) => each.file));
  const taken = new Set([...bundle.files, ...kept].map(({ file }) => file.toLowerCase()));
  const files: DryFile[] = [];
  for (const { path, text } of given) {
    if (files.some((each) => each.text === text)) continue;
    const name = path.split(/[\\/]/).at(-1) ?? path;
    const read = readReadings(text, { mostProblems: MOST_PROBLEMS, ...readOptions(opened.job, name) });
    const already = byHash.get(sha256Hex(text)) ?? null;
    // A file put into the folder by hand is taken where it stands.
    const byHand = bundle.files.find((each) => each.text === text && !known.has(each.file));
    const file = already?.file ?? byHand?.file ?? freeName(name, taken);
    taken.add(file.toLowerCase());
    files.push({
      ...{ name, file, text, rows: read.rows, readings: read.readings, problems: read.problems },
      fault: wholeFileFault(read),
      already: already === null ? null : { file: already.file, when: already.when },
    });
  }
  const incoming = files.filter((each) => each.already === null).flatMap((each) => each.readings);
  const own = new Set(files.map((each) => each.file));
  const existing = opened.readings.filter((each) => !own.has(each.file));
  if (incoming.length === 0) return { files, surveys: [], doubts: [] };
  const { surveys, doubts } = checkReadings(incoming, opened.job, existing);
  const copies = copiesAmong(incoming, existing);
  const rest = copies.length === 0 ? doubts : doubts.filter((each) => each.code !== 'survey-twice');
  return { files, surveys, doubts: [...copies, ...rest] };
}

function freeName(name: string, taken: ReadonlySet<string>): string {
  const stem = safeCsvName(name).replace(/\.csv$/, '');
  for (let n = 1; ; n++) {
    const file = `readings/${stem}${n === 1 ? '' : `-${n}`}.csv`;
    if (!taken.has(file.toLowerCase())) return file;
  }
}

/**
 * The job with these files imported, all of them or none, as `sweepbook add` does it: kept as given, one record in the
 * ledger.
 *
 * @param setAside take the usable rows and record the others
 * @throws InputError with every unusable row, unless set aside; a file no row of which can be used is refused always
 */
export function imported(
  bundle: JobBundle,
  opened: OpenedBundle,
  { files }: DryRun,
  setAside: boolean,
  when: string,
  fresh: string,
): JobBundle {
  const problems = files.flatMap(({ name, problems: own, fault }) =>
    own.length === 0 && fault !== null
      ? [{ file: name, found: fault, expected: 'at least one reading' }]
      : own,
  );
  const refused = files.some((each) => each.fault !== null);
  if (refused || (problems.length > 0 && !setAside)) {
    throw new InputError('Nothing was imported: there is what cannot be used.', problems);
  }
  const news = files.filter((each) => each.already === null);
  if (news.length === 0) return bundle;
  const kept = news.map((each): KeptFile => {
    const tally = new SurveyTally();
    for (const reading of readReadings(each.text, readOptions(opened.job, each.name)).readings)
      tally.add(reading);
    return {
      file: each.file,
      sha256: sha256Hex(each.text),
      bytes: utf8Bytes(each.text).length,
      original: each.name,
      rows: each.rows,
      readings: each.readings.length,
      surveys: tally.counts(),
      setAside: each.problems.map(setAsideRow),
    };
  });
  const own = new Set(kept.map((each) => each.file));
  const entries = news.map(({ file, text }) => ({
    ...{ file, text, aside: [], sha256: sha256Hex(text), rows: null },
    note: '',
  }));
  const files2 = [...bundle.files.filter((each) => !own.has(each.file)), ...entries];
  return withRecord({ ...bundle, files: files2 }, { kind: 'import', files: kept }, when, fresh);
}

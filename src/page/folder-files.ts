import type { Finding } from '../finding.ts';
import { PHOTOS_FOLDER } from '../folder/names.ts';
import { notHere } from '../folder/not-here.ts';
import * as record from '../folder/read-record.ts';
import { InputError } from '../input-error.ts';
import { safeCsvName } from '../job/csv-name.ts';
import { checkChain, HEAD_FILE, headOf, LEDGER_FILE, type Ledger } from '../ledger/chain.ts';
import {
  byFolderThenName,
  cloudsOf,
  declarationsOf,
  marksOf,
  panelFiles,
  recordWords,
} from '../ledger/contents.ts';
import { identityFindings } from '../ledger/identity.ts';
import { checkInputs, GROWING_FILES, type Inputs, inputNames, ledgerFindings } from '../ledger/inputs.ts';
import { checkPanelFiles } from '../ledger/panels.ts';
import type { LedgerRecord } from '../ledger/record.ts';
import { fileMissing, fileTwice, standingFindings } from '../ledger/standing.ts';
import { PRACTICE_FILE } from '../practice/file.ts';
import { sha256Hex } from '../sha256.ts';
import { utf8Bytes } from '../utf8.ts';
import { bundleOf, type JobBundle, looksLikeBundle, parseBundle } from './job-bundle.ts';
import { type CarriedPhoto, carriable, carriedPhoto, isPhoto, photoFindings } from './photos/carried.ts';
import { ADDED } from './session.ts';

/** A file a person gave the page. */
export interface GivenFile {
  /** Name, with folders where the browser tells them ("juniper-lane/readings/cycle-00.csv"). */
  readonly path: string;
  readonly text: string;
  /** Of a picture, whose text is then empty. */
  readonly bytes?: Uint8Array;
}

/**
 * A job from the files of a job folder, or from one whole-job file: the same reading as the command line's, the chain of
 * the ledger checked too. Where the seal of its last record is not among the files, that is said.
 *
 * @throws InputError when there is no job among them
 */
export function bundleOfFiles(given: readonly GivenFile[]): JobBundle {
  const whole = given.find((file) => looksLikeBundle(file.text));
  if (whole !== undefined) return rehashed(parseBundle(whole.text, nameOf(whole.path)));
  const jobs = given
    .filter((file) => nameOf(file.path).toLowerCase() === 'job.json')
    .sort((a, b) => depth(a.path) - depth(b.path));
  const job = jobs[0];
  if (job === undefined) {
    throw new InputError(
      'There is no job.json among these files. Take the whole job folder, or a whole-job file.',
    );
  }
  const root = job.path.slice(0, job.path.length - 'job.json'.length);
  const within = given.flatMap((file) =>
    file !== job && file.path.startsWith(root) ? [insideOf(file, file.path.slice(root.length))] : [],
  );
  const foldered = within.some(({ file }) => file.includes('/'));
  const inside = foldered ? within : inFolders(within, job.text);
  const photos = inside.flatMap(({ file, bytes }) =>
    bytes !== undefined && isPhoto(file) ? [carriedPhoto(file, bytes)] : [],
  );
  const texts = inside.flatMap(({ file, text, bytes }) => (bytes === undefined ? [{ file, text }] : []));
  return bundleOfInside(job.text, texts, foldered, carriable(photos));
}

/**
 * A job from its files by job-relative name; the ledger is read and everything held against it.
 *
 * @param panelsHere whether the maps of panels would be among them if there are any
 * @param photos those carried along
 */
export function bundleOfInside(
  job: string,
  inside: readonly { readonly file: string; readonly text: string }[],
  panelsHere: boolean,
  photos: readonly CarriedPhoto[],
): JobBundle {
  const ledger = chainOf(inside);
  const { records } = ledger;
  const bundle = bundleOf(job);
  const named = new Set(inputNames(job));
  const panels = inside.filter(({ file }) => isPanel(file));
  bundle.others = inside.filter(({ file }) => named.has(file) || isKeptBeside(file));
  if (panels.length > 0) bundle.panels = panels;
  if (photos.length > 0) bundle.photos = [...photos];
  bundle.findings.push(
    ...ledgerFindings(ledger),
    ...(ledger.count === 0 ? [] : identityFindings(ledger, bundle.job)),
    ...checkInputs(ledger, inputsOf(bundle)).findings,
    ...panelFindings(ledger, panels, panelsHere),
    ...photoFindings(ledger, photos),
  );
  bundle.ledgerText = inside.find(({ file }) => file === LEDGER_FILE)?.text;
  if (bundle.ledgerText === undefined) delete bundle.ledgerText;
  const head = inside.find(({ file }) => file === HEAD_FILE)?.text;
  if (head !== undefined) bundle.headText = head;
  if (ledger.count > 0) bundle.seal = { records: ledger.count, sha256: ledger.seal };
  bundle.marks = marksOf(records);
  bundle.declarations = declarationsOf(records);
  bundle.ledger = records.map((record) => ({ when: record.when, what: recordWords(record) }));
  readInto(
    bundle,
    inside.filter(({ file }) => isReadings(file)),
    records,
  );
  return bundle;
}

/**
 * A whole-job file with everything it says of itself worked out anew: the digests of its texts, the chain of the ledger it
 * carries up to its seal, and from the ledger its marks and declarations. What differs is a stop.
 */
export function rehashed(bundle: JobBundle): JobBundle {
  const ledger = ledgerOf(bundle);
  const findings = [...bundle.findings];
  const say = (all: readonly Finding[]) => {
    for (const each of all) {
      if (!findings.some((other) => other.code === each.code && other.message === each.message))
        findings.push(each);
    }
  };
  if (ledger !== null) {
    say(ledgerFindings(ledger).filter((each) => each.severity === 'stop'));
    say(identityFindings(ledger, bundle.job).filter((each) => each.severity === 'stop'));
    say(checkInputs(ledger, inputsOf(bundle)).findings.filter((each) => each.severity === 'stop'));
    say(panelFindings(ledger, bundle.panels ?? [], bundle.panels !== undefined));
    say(photoFindings(ledger, bundle.photos ?? []));
  }
  const recorded = new Map(
    (ledger?.records ?? [])
      .flatMap((each) => (each.kind === 'import' ? each.files : []))
      .map(({ file, sha256 }) => [file, sha256]),
  );
  const files = bundle.files.map((each) => {
    const sha256 = sha256Hex(each.text);
    const known = recorded.get(each.file);
    const told = bundle.findings.some((finding) => finding.severity === 'stop' && finding.file === each.file);
    if (sha256 === each.sha256 && (known === undefined || known === sha256 || told)) return each;
    findings.push({
      severity: 'stop',
      code: 'file-changed',
      message: `${each.file} was changed inside the whole-job file: its SHA-256 is not the one ${sha256 === each.sha256 ? 'in the ledger' : 'written beside it'}. Take the job from its folder, or a copy nobody edited.`,
      file: each.file,
    });
    return { ...each, sha256, note: 'CHANGED inside the whole-job file' };
  });
  if (ledger === null) return { ...bundle, files, findings };
  const { records } = ledger;
  return { ...bundle, files, findings, marks: marksOf(records), declarations: declarationsOf(records) };
}

/** The ledger a bundle carries, its chain checked against the bundle's seal; null where it carries none. */
function ledgerOf({ ledgerText, seal }: JobBundle): Ledger | null {
  if (ledgerText === undefined) return null;
  return checkChain(
    ledgerLines(ledgerText),
    seal === null ? null : { seq: seal.records, sha256: seal.sha256 },
  );
}

/** Lines of a ledger that are not blank, each with its SHA-256. */
export function ledgerLines(text: string): { readonly text: string; readonly sha256: string }[] {
  return record.ledgerLines(utf8Bytes(text));
}

/** Adds CSV files of readings to a job, under names of their own; the same text a second time is left out. */
export function withFiles(bundle: JobBundle, given: readonly GivenFile[]): JobBundle {
  const files = [...bundle.files];
  for (const { path, text } of given) {
    if (files.some((each) => each.text === text)) continue;
    const taken = new Set([...files.map((each) => each.file), ...bundle.sheets.map((each) => each.file)]);
    const stem = safeCsvName(path).replace(/\.csv$/, '');
    let file = `readings/${stem}.csv`;
    for (let n = 2; taken.has(file); n++) file = `readings/${stem}-${n}.csv`;
    files.push({
      file,
      text,
      aside: [],
      sha256: sha256Hex(text),
      rows: null,
      note: ADDED,
    });
  }
  return { ...bundle, files: files.sort((a, b) => byFolderThenName(a.file, b.file)) };
}

/** What the ledger compares beside the readings. */
export function inputsOf({ job, others }: JobBundle): Inputs {
  const names = new Set(inputNames(job));
  return {
    job,
    files: new Map(
      others.filter(({ file }) => names.has(file)).map(({ file, text }) => [file, utf8Bytes(text)]),
    ),
  };
}

/** What is said of the panels' maps: compared where they were given, else that they could not be. */
function panelFindings(
  ledger: Ledger,
  panels: readonly { readonly file: string; readonly text: string }[],
  given: boolean,
): readonly Finding[] {
  if (given) {
    const there = new Map(
      panels.map(({ file, text }) => [file, { sha256: sha256Hex(text), text: () => text }] as const),
    );
    return checkPanelFiles(ledger, there).findings;
  }
  return notHere('panel-maps-not-here', 'the maps of panels', panelFiles(ledger).size).findings;
}

function readInto(
  bundle: JobBundle,
  files: readonly { readonly file: string; readonly text: string }[],
  records: readonly LedgerRecord[],
): void {
  const kept = new Map(
    records.flatMap((r) => (r.kind === 'import' ? r.files : [])).map((file) => [file.file, file] as const),
  );
  const clouds = cloudsOf(records);
  const seen = new Map<string, string>();
  const names = [...new Set([...files.map((each) => each.file), ...kept.keys()])].sort(byFolderThenName);
  for (const file of names) {
    const record = kept.get(file);
    const there = files.find((each) => each.file === file);
    if (there === undefined) {
      bundle.findings.push(fileMissing(file, record!));
      continue;
    }
    const digest = sha256Hex(there.text);
    const twin = record === undefined ? seen.get(digest) : undefined;
    if (twin !== undefined) {
      bundle.findings.push(fileTwice(file, twin));
      continue;
    }
    seen.set(digest, file);
    const standing = record === undefined ? 'unknown' : record.sha256 === digest ? 'known' : 'changed';
    bundle.findings.push(...standingFindings(file, standing, record));
    bundle.files.push({
      file,
      text: there.text,
      aside: standing === 'known' ? record!.setAside.map((each) => each.row) : [],
      sha256: digest,
      rows: record?.rows ?? null,
      ...(clouds.has(file) ? { source: clouds.get(file)! } : {}),
      note:
        standing === 'known'
          ? 'as imported'
          : standing === 'changed'
            ? 'CHANGED since it was imported'
            : 'not in the ledger: put here by hand',
    });
  }
}

/**
 * Files picked one by one come without their folders: a CSV is then readings, unless it is the heat log or job.json
 * names it (a profile); one the ledger knows goes where the ledger has it.
 */
function inFolders(files: readonly Inside[], job: string): Inside[] {
  const ledger = files.find(({ file }) => file === LEDGER_FILE)?.text ?? '';
  return files.map(({ file, text, bytes }) => {
    if (bytes !== undefined) return { file: `${PHOTOS_FOLDER}/${file}`, text, bytes };
    const beside =
      (GROWING_FILES as readonly string[]).includes(file) ||
      job.includes(JSON.stringify(file)) ||
      !/\.csv$/i.test(file);
    if (beside) return { file, text };
    const folder = ledger.includes(JSON.stringify(`scans/${file}`)) ? 'scans' : 'readings';
    return { file: `${folder}/${file}`, text };
  });
}

/** The ledger among the files, its chain checked as the command line does it. */
function chainOf(files: readonly { readonly file: string; readonly text: string }[]): Ledger {
  const textOf = (name: string) => files.find(({ file }) => file === name)?.text;
  const head = textOf(HEAD_FILE);
  const chain = checkChain(
    ledgerLines(textOf(LEDGER_FILE) ?? ''),
    head === undefined ? 'not given' : headOf(head),
  );
  if (chain.count === 0 || head !== undefined) return chain;
  const missing: Finding = {
    severity: 'note',
    code: 'ledger-seal-not-given',
    message: `The seal of the ledger's last record (${HEAD_FILE}) is not among the files: whether the end of the ledger was cut off could not be checked here. Take the whole job folder, or use \`sweepbook verify\`.`,
    file: LEDGER_FILE,
  };
  return { ...chain, findings: [...chain.findings, missing] };
}

function insideOf({ text, bytes }: Omit<GivenFile, 'path'>, file: string): Inside {
  return { file, text, ...(bytes === undefined ? {} : { bytes }) };
}

type Inside = Omit<GivenFile, 'path'> & { readonly file: string };

function isReadings(file: string): boolean {
  return /^(?:readings|scans)\/[^./\\][^/\\]*\.csv$/i.test(file);
}

function isPanel(file: string): boolean {
  return /^panels\/[^./\\][^/\\]*\.(?:csv|json)$/i.test(file);
}

/** Files job.json may refer to (a profile), the logs, and what a practice keeps. */
function isKeptBeside(file: string): boolean {
  if (file === PRACTICE_FILE) return true;
  return (
    /\.csv$/i.test(file) &&
    !isReadings(file) &&
    !isPanel(file) &&
    !file.startsWith('reports/') &&
    !/(^|\/)\./.test(file)
  );
}

function nameOf(path: string): string {
  return path.split('/').at(-1) ?? path;
}

function depth(path: string): number {
  return path.split('/').length;
}

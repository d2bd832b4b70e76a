import { statSync } from 'node:fs';
import { panelNames } from '../folder/check-panels.ts';
import { InputError } from '../input-error.ts';
import { parseJob } from '../job/job-file.ts';
import { HEAD_FILE, LEDGER_FILE } from '../ledger/chain.ts';
import { cloudsOf, photosOf } from '../ledger/contents.ts';
import { GROWING_FILES } from '../ledger/inputs.ts';
import { bundleOf, type JobBundle } from '../page/job-bundle.ts';
import { carriable, carriedPhoto } from '../page/photos/carried.ts';
import { reportContext } from '../papers/report-context.ts';
import { PRACTICE_FILE } from '../practice/file.ts';
import { utf8Text } from '../utf8.ts';
import { hashBytes } from './store/hash-file.ts';
import { inJob, JOB_FILE } from './store/layout.ts';
import { readInput, readInputText } from './store/open-input.ts';
import type { OpenedJob } from './store/open-job.ts';

/** Files with more text than this are scans no page should carry. */
const MOST_BYTES = 40 * 1024 * 1024;

/**
 * Everything a job folder holds that the readings page needs, its files as text.
 *
 * @throws InputError when a file changed while it was read, or the job is too large for a page
 */
export function pageBundle(opened: OpenedJob): JobBundle {
  const { folder, ledger } = opened;
  const job = readInputText(inJob(folder, JOB_FILE), 'job');
  const others = new Map<string, string>();
  parseJob(job, {
    readText: (file) => {
      const text = readInputText(inJob(folder, file), 'job');
      others.set(file, text);
      return text;
    },
  });
  for (const file of [...GROWING_FILES, PRACTICE_FILE]) {
    const path = inJob(folder, file);
    if (statSync(path, { throwIfNoEntry: false })?.isFile()) others.set(file, readInputText(path, 'log'));
  }
  const panels = panelNames(opened.source).map((file) => ({
    file,
    text: readInputText(inJob(folder, file), 'panel'),
  }));
  const context = reportContext(opened, {
    generated: '',
    tool: '',
    fraction: 16,
    plotly: null,
  });
  const counted = opened.files.filter((file) => file.sha256 !== null && file.standing !== 'duplicate');
  const bytes =
    counted.reduce((sum, file) => sum + file.bytes, 0) +
    panels.reduce((sum, file) => sum + file.text.length, 0);
  if (bytes > MOST_BYTES) {
    throw new InputError(
      `the files of ${folder} are ${Math.round(bytes / 1e6)} MB together; the page carries at most 40 MB.`,
    );
  }
  const photos = carriable(
    photosOf(ledger).flatMap(({ file }) => {
      const bytes = opened.source.bytes(file, 'photo');
      return bytes === null ? [] : [carriedPhoto(file, bytes)];
    }),
  );
  const clouds = cloudsOf(ledger.records);
  const head = opened.source.bytes(HEAD_FILE, 'ledger');
  return {
    ...bundleOf(job),
    files: counted.map((file) => ({
      file: file.file,
      text: textOf(opened, file.file, file.sha256!),
      aside: file.standing === 'known' ? rowsAside(opened, file.file) : [],
      sha256: file.sha256!,
      rows: file.rows,
      ...(clouds.has(file.file) ? { source: clouds.get(file.file)! } : {}),
      note: context.files.find((fact) => fact.file === file.file)?.note ?? '',
    })),
    others: [...others].map(([file, text]) => ({ file, text })),
    ...(panels.length === 0 ? {} : { panels }),
    ...(photos.length === 0 ? {} : { photos: [...photos] }),
    marks: [...opened.marks],
    declarations: [...opened.declarations],
    findings: [...opened.findings],
    ledger: [...context.ledger],
    ...(ledger.count === 0 ? {} : { ledgerText: readInputText(inJob(folder, LEDGER_FILE), 'ledger') }),
    ...(head === null ? {} : { headText: utf8Text(head) }),
    seal: ledger.count === 0 ? null : { records: ledger.count, sha256: ledger.seal },
  };
}

/** Text of a file, of exactly the bytes that were opened. */
function textOf(opened: OpenedJob, file: string, sha256: string): string {
  const path = inJob(opened.folder, file);
  const bytes =
    statSync(path, { throwIfNoEntry: false })?.isFile() === true ? readInput(path, 'readings') : null;
  if (bytes === null || hashBytes(bytes) !== sha256) {
    throw new InputError(`${file} changed while the job was read. Run the command again.`);
  }
  return bytes.toString('utf8');
}

function rowsAside(opened: OpenedJob, file: string): number[] {
  const record = opened.ledger.records
    .flatMap((each) => (each.kind === 'import' ? each.files : []))
    .findLast((each) => each.file === file);
  return record?.setAside.map((each) => each.row) ?? [];
}

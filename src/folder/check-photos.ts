import type { Finding } from '../finding.ts';
import type { Ledger } from '../ledger/chain.ts';
import { photosOf } from '../ledger/contents.ts';
import type { InputStanding } from '../ledger/inputs.ts';
import type { JobFiles } from './job-files.ts';
import { PHOTOS_FOLDER } from './names.ts';
import { notHere } from './not-here.ts';

/** Compares the photographs with what the ledger has of them. */
export function checkPhotos(
  source: JobFiles,
  ledger: Pick<Ledger, 'records'>,
): { readonly files: readonly InputStanding[]; readonly findings: readonly Finding[] } {
  const photos = photosOf(ledger);
  if (source.notHere.includes(PHOTOS_FOLDER)) return notHere('photos-not-here', 'photographs', photos.length);
  const files: InputStanding[] = [];
  const findings: Finding[] = [];
  const known = new Map(photos.map((photo) => [photo.file, photo]));
  // A picture once withdrawn may stay in the folder; nothing is said of it.
  const withdrawn = new Set(
    ledger.records.flatMap((record) =>
      record.kind === 'photo' && !known.has(record.file) ? [record.file] : [],
    ),
  );
  const there = source
    .names(PHOTOS_FOLDER)
    .filter((name) => !name.startsWith('.'))
    .map((name) => `${PHOTOS_FOLDER}/${name}`);
  for (const file of [...new Set([...known.keys(), ...there])].sort()) {
    if (withdrawn.has(file)) continue;
    const record = known.get(file);
    const sha256 = source.digest(file)?.sha256 ?? null;
    const standing =
      sha256 === null
        ? 'missing'
        : record === undefined
          ? 'unknown'
          : record.sha256 === sha256
            ? 'known'
            : 'changed';
    files.push({ file, standing, sha256, recorded: record?.sha256 ?? null, when: record?.when ?? null });
    if (standing === 'known') continue;
    const [severity, code, said] = SAYS[standing];
    findings.push({ severity, code, message: `${file} ${said}`, file });
  }
  return { files, findings };
}

const BACK =
  'Put it back, or withdraw it with who and why: `sweepbook photo` with --withdraw, --who and --why.';
const SAYS = {
  changed: [
    'stop',
    'photo-changed',
    `is not the photograph that was kept: its SHA-256 differs from the ledger. ${BACK}`,
  ],
  missing: ['stop', 'photo-missing', `was kept and is gone. ${BACK}`],
  unknown: [
    'note',
    'photo-not-in-ledger',
    'was put there by hand and is shown nowhere; `sweepbook photo` keeps it on the record.',
  ],
} as const;

import type { Declaration, Mark } from '../survey/survey.ts';
import type { Ledger } from './chain.ts';
import type { KeptFile, LedgerRecord } from './record.ts';

/** Files the ledger says are kept, by job-relative name. */
export function keptFiles(
  ledger: Pick<Ledger, 'records'>,
): ReadonlyMap<string, KeptFile & { readonly when: string }> {
  const kept = new Map<string, KeptFile & { readonly when: string }>();
  for (const record of ledger.records) {
    if (record.kind !== 'import') continue;
    for (const file of record.files) kept.set(file.file, { ...file, when: record.when });
  }
  return kept;
}

/** Files of the panel maps the ledger knows, by job-relative name, as the newest record has them. */
export function panelFiles(
  ledger: Pick<Ledger, 'records'>,
): ReadonlyMap<string, { readonly sha256: string; readonly when: string }> {
  const known = new Map<string, { sha256: string; when: string }>();
  for (const record of ledger.records) {
    if (record.kind !== 'panel') continue;
    for (const { file, sha256 } of record.files) known.set(file, { sha256, when: record.when });
  }
  return known;
}

/** A photograph of the job, as its newest record has it. */
export type Photo = Omit<Extract<LedgerRecord, { kind: 'photo' }>, 'kind' | 'seq' | 'previous'>;

/** Photographs not withdrawn, by cycle (those of no cycle last), in the order they were kept. */
export function photosOf({ records }: Pick<Ledger, 'records'>): Photo[] {
  const newest = new Map<string, Photo>();
  for (const record of records) if (record.kind === 'photo') newest.set(record.file, record);
  const at = ({ cycle }: Photo): number => cycle ?? Number.POSITIVE_INFINITY;
  return [...newest.values()]
    .filter(({ withdrawn }) => withdrawn === undefined)
    .sort((a, b) => (at(a) === at(b) ? 0 : at(a) - at(b)));
}

/** Marks of the ledger, one a row (and cycle and station, where it names some), oldest first. */
export function marksOf(records: readonly LedgerRecord[]): Mark[] {
  return records.flatMap((record) => {
    if (record.kind !== 'mark') return [];
    const { file, action, who, why, when } = record;
    return record.rows.flatMap((row) =>
      (record.cycles ?? [undefined]).flatMap((cycle) =>
        (record.stations ?? [undefined]).map((station) => ({
          file,
          row,
          ...(cycle === undefined ? {} : { cycle }),
          ...(station === undefined ? {} : { station }),
          action,
          who,
          why,
          when,
        })),
      ),
    );
  });
}

/** What was said of sheets that read like others, one a file (and cycle, where it names some), oldest first. */
export function declarationsOf(records: readonly LedgerRecord[]): Declaration[] {
  return records.flatMap((record) => {
    if (record.kind !== 'declare') return [];
    const { file, action, who, why, when } = record;
    return (record.cycles ?? [undefined]).map((cycle) => ({
      file,
      ...(cycle === undefined ? {} : { cycle }),
      ...{ action, who, why, when },
    }));
  });
}

/** SHA-256 of the clouds that files of readings were taken from, by file. */
export function cloudsOf(records: readonly LedgerRecord[]): ReadonlyMap<string, string> {
  const clouds = new Map<string, string>();
  for (const record of records) {
    if (record.kind !== 'import') continue;
    for (const { file, source } of record.files) {
      if (source?.sha256 !== undefined) clouds.set(file, source.sha256);
    }
  }
  return clouds;
}

/** A record in words, for people. */
export function recordWords(record: LedgerRecord): string {
  switch (record.kind) {
    case 'start':
      return 'job started';
    case 'import':
      return `imported ${record.files
        .map((f) => {
          const aside = f.setAside.length === 0 ? '' : `, ${f.setAside.length} unusable rows set aside`;
          const source = f.source === undefined ? '' : `, from ${f.source.name}`;
          return `${f.file} (${f.rows} rows${aside}${source})`;
        })
        .join(', ')}`;
    case 'panel':
      return `mapped panel ${record.panel}, cycle ${record.cycle}, from ${record.source.name}`;
    case 'photo':
      return record.withdrawn === undefined
        ? `photograph ${record.file}: ${record.caption}`
        : `${record.withdrawn.who} withdrew ${record.file}: ${record.withdrawn.why}`;
    case 'declare':
      return `${record.who} declared ${record.file}${record.cycles === undefined ? '' : `, cycle ${record.cycles.join(', ')},`} ${record.action === 'copy' ? 'a copy' : 'read again'}: ${record.why}`;
    case 'accept':
      return `${record.who} let ${record.file} stand as it is: ${record.why}`;
    case 'mark':
      return `${record.who} ${record.action === 'set-aside' ? 'set aside' : 'put back'} ${record.file}, ${record.rows.length === 1 ? 'row' : 'rows'} ${record.rows.join(', ')}${record.stations === undefined ? '' : `, at ${record.stations.length === 1 ? 'one station' : `${record.stations.length} stations`}`}: ${record.why}`;
  }
}

/** Order in which files of readings are read: `readings/` before `scans/`, by name within each. */
export function byFolderThenName(a: string, b: string): number {
  const folder = (file: string) => (file.startsWith('readings/') ? 0 : 1);
  return folder(a) - folder(b) || (a < b ? -1 : a > b ? 1 : 0);
}

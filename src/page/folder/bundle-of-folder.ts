import { incomingName } from '../../folder/names.ts';
import { readLedger } from '../../folder/read-record.ts';
import { keptFiles } from '../../ledger/contents.ts';
import { utf8Text } from '../../utf8.ts';
import { bundleOfFiles } from '../folder-files.ts';
import type { JobBundle } from '../job-bundle.ts';
import { isPhoto } from '../photos/carried.ts';
import type { FolderFiles } from './folder-now.ts';

const WAITING = /^(?:readings|scans)\/\.incoming-([0-9a-f]{64})$/;

/**
 * The job in a folder that was read. A file that still waits under the name it came in with, because whoever imported it
 * was stopped, is read as the file the ledger has of it.
 *
 * @throws InputError when it is no job folder
 */
export function bundleOfFolder(name: string, files: FolderFiles): JobBundle {
  const kept = keptFiles(readLedger({ bytes: (file) => files.get(file) ?? null }));
  // A browser makes an empty file first: stopped there, the bytes still wait.
  const isThere = (file: string) => (files.get(file)?.length ?? 0) > 0;
  const isAwaited = (file: string) => {
    const record = kept.get(file);
    return record !== undefined && files.has(`${file.split('/')[0]}/${incomingName(record.sha256)}`);
  };
  const given = [...files].flatMap(([file, bytes]) => {
    const sha256 = WAITING.exec(file)?.[1];
    if (sha256 === undefined) return bytes.length > 0 || !isAwaited(file) ? [{ file, bytes }] : [];
    const final = [...kept.values()].find((each) => each.sha256 === sha256)?.file;
    return final === undefined || isThere(final) ? [] : [{ file: final, bytes }];
  });
  return bundleOfFiles(
    given.map(({ file, bytes }) => ({
      path: `${name}/${file}`,
      ...(isPhoto(file) ? { text: '', bytes } : { text: utf8Text(bytes) }),
    })),
  );
}

import type { Digest, InputKind, JobFiles } from './job-files.ts';

/** One question put to the files of a job, and a digest of what they said. Plain data. */
export type Asked =
  | { readonly ask: 'names' | 'isFolder' | 'isFile' | 'digest'; readonly of: string; readonly said: string }
  | { readonly ask: 'bytes'; readonly of: string; readonly kind: InputKind; readonly said: string }
  | {
      readonly ask: 'readings' | 'hasReadings';
      readonly of: string;
      readonly recorded: string | null;
      readonly said: string;
    };

type Question = Asked extends infer Each ? (Each extends Asked ? Omit<Each, 'said'> : never) : never;

/**
 * The same files, with every question noted that is put to them. Whatever is made of a job is made of its files and
 * nothing else, so what was noted is all that it depends on: what is kept of it is tied to that (`saidAlike`).
 *
 * @param digest of bytes, lower-case hex
 * @returns `asked` gives the questions up to now in their order, each once; null where one was answered in two ways, so
 *   that the files changed on the way
 */
export function watchFiles(
  files: JobFiles,
  digest: (bytes: Uint8Array) => string,
): { readonly files: JobFiles; readonly asked: () => readonly Asked[] | null } {
  const noted = new Map<string, Asked>();
  let changed = false;
  const note = (question: Question, said: string): void => {
    const key = JSON.stringify(question);
    const before = noted.get(key);
    if (before === undefined) noted.set(key, { ...question, said } as Asked);
    else if (before.said !== said) changed = true;
  };
  return {
    asked: () => (changed ? null : [...noted.values()]),
    files: {
      name: files.name,
      notHere: files.notHere,
      names: (of) => {
        const names = files.names(of);
        note({ ask: 'names', of }, namesText(names));
        return names;
      },
      isFolder: (of) => {
        const is = files.isFolder(of);
        note({ ask: 'isFolder', of }, String(is));
        return is;
      },
      isFile: (of) => {
        const is = files.isFile(of);
        note({ ask: 'isFile', of }, String(is));
        return is;
      },
      bytes: (of, kind) => {
        const bytes = files.bytes(of, kind);
        note({ ask: 'bytes', of, kind }, bytes === null ? GONE : digest(bytes));
        return bytes;
      },
      digest: (of) => {
        const found = files.digest(of);
        note({ ask: 'digest', of }, digestText(found));
        return found;
      },
      digestOfReadings: async (of, recorded) => {
        const found = await files.digestOfReadings(of, recorded);
        note({ ask: 'readings', of, recorded }, digestText(found));
        return found;
      },
      hasReadings: (of, recorded) => {
        const has = files.hasReadings(of, recorded);
        note({ ask: 'hasReadings', of, recorded }, String(has));
        return has;
      },
      // How they are read follows from job.json, which is a question of its own: only the bytes count.
      readCsv: async (of, recorded, options, begin, onReading) => {
        const read = await files.readCsv(of, recorded, options, begin, onReading);
        note({ ask: 'readings', of, recorded }, digestText(read));
        return read;
      },
    },
  };
}

/** Whether the files say today what they said then, to the last byte. */
export async function saidAlike(
  files: JobFiles,
  asked: readonly Asked[],
  digest: (bytes: Uint8Array) => string,
): Promise<boolean> {
  for (const each of asked) if ((await answer(files, each, digest)) !== each.said) return false;
  return true;
}

async function answer(files: JobFiles, asked: Asked, digest: (bytes: Uint8Array) => string): Promise<string> {
  const { of } = asked;
  switch (asked.ask) {
    case 'names':
      return namesText(files.names(of));
    case 'isFolder':
      return String(files.isFolder(of));
    case 'isFile':
      return String(files.isFile(of));
    case 'bytes': {
      const bytes = files.bytes(of, asked.kind);
      return bytes === null ? GONE : digest(bytes);
    }
    case 'digest':
      return digestText(files.digest(of));
    case 'readings':
      return digestText(await files.digestOfReadings(of, asked.recorded));
    case 'hasReadings':
      return String(files.hasReadings(of, asked.recorded ?? ''));
  }
}

const GONE = 'not there';

function digestText(digest: Digest | null): string {
  return digest === null ? GONE : digest.sha256;
}

/** They come in no order. */
function namesText(names: readonly string[]): string {
  return JSON.stringify([...names].sort());
}

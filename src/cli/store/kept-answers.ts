import { createHmac, randomBytes } from 'node:crypto';
import { mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { homedir } from 'node:os';
import { join } from 'node:path';
import { type KeptLine, keptLines, keptText } from '../../answer/kept-lines.ts';
import { inJob, KEPT_FOLDER } from './layout.ts';
import { readInput, readInputText } from './open-input.ts';
import { writeAtomic } from './write-atomic.ts';

const KEPT_FILE = 'lines';
/** More than this reads no faster than it is worked out again. */
const MOST_CHARACTERS = 60_000_000;
const SECRET_BYTES = 32;
/** A leftover of a killed write is taken away after this long, ms. */
const LEFT_OVER = 60_000;

/** Answers of earlier runs in a job folder. Never needed: without them, or where they are in doubt, all is worked out. */
export interface KeptAnswers {
  /** Digest under which an answer is kept. */
  readonly keyOf: (text: string) => string;
  /** Texts by key. */
  readonly found: ReadonlyMap<string, string>;
  /** Puts these in the place of all that is kept. Says nothing where it cannot: the folder may be read-only. */
  readonly keep: (lines: readonly KeptLine[]) => void;
}

/**
 * Opens what is kept in `.kept/` of a job folder. It counts only under the seal of this user's own secret, so that a
 * folder that comes from somebody else, or was changed by anybody, brings no answers with it.
 *
 * @returns null where this user has no place for a secret: then nothing is kept
 */
export function openKept(folder: string): KeptAnswers | null {
  const secret = ownSecret();
  if (secret === null) return null;
  const digest = (what: string) => (text: string) =>
    createHmac('sha256', secret).update(what).update(text).digest('hex');
  const seal = digest('seal ');
  return {
    keyOf: digest('key '),
    found: keptLines(textOf(folder), seal),
    keep: (lines) => {
      try {
        const text = keptText(lines, seal);
        if (text.length <= MOST_CHARACTERS) write(folder, text);
      } catch {
        // Read-only, full, or a link where the folder should be: the answer was given all the same.
      }
    },
  };
}

function textOf(folder: string): string {
  try {
    return readInputText(inJob(folder, `${KEPT_FOLDER}/${KEPT_FILE}`), 'kept');
  } catch {
    return '';
  }
}

function write(folder: string, text: string): void {
  const path = inJob(folder, KEPT_FOLDER);
  const file = inJob(folder, `${KEPT_FOLDER}/${KEPT_FILE}`);
  mkdirSync(path, { recursive: true });
  for (const name of readdirSync(path)) {
    const other = join(path, name);
    if (name.startsWith('.writing-') && Date.now() - statSync(other).mtimeMs > LEFT_OVER) rmSync(other);
  }
  // Whatever keeps job folders in a repository leaves this one out.
  writeFileSync(inJob(folder, `${KEPT_FOLDER}/.gitignore`), '*\n');
  writeAtomic(file, text, { durable: false });
}

/** This user's secret, made the first time; null where it can be neither read nor made. */
function ownSecret(): Buffer | null {
  const folder = stateFolder();
  const path = join(folder, 'kept.key');
  try {
    const secret = readInput(path, 'job');
    // A shorter one is being written at this moment, by another first run.
    return secret.length === SECRET_BYTES ? secret : null;
  } catch {
    try {
      mkdirSync(folder, { recursive: true, mode: 0o700 });
      writeFileSync(path, randomBytes(SECRET_BYTES), { flag: 'wx', mode: 0o600 });
      return readFileSync(path);
    } catch {
      return null;
    }
  }
}

/** Where programs of this user keep what they can do without. */
function stateFolder(): string {
  const given = process.env.XDG_STATE_HOME ?? process.env.LOCALAPPDATA;
  return join(given === undefined || given === '' ? join(homedir(), '.local', 'state') : given, 'sweepbook');
}

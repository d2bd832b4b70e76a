import { createHmac, randomBytes } from 'node:crypto';
import { mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { homedir } from 'node:os';
import { join } from 'node:path';
import { type KeptLine, keptLines, keptText } from '../../answer/kept-lines.ts';
import { inJob, KEPT_FOLDER } from './layout.ts';
import { readInput, readInputText } from './open-input.ts';
import { writeAtomic } from './write-atomic.ts';

const KEPT_FILE = 'lines';
/** Papers, each in a file of its own: a short one is not read with a long one. */
const PAPER = 'paper-';
/** The newest are left: what a command says at each width of the screen or on each day is another paper. */
const MOST_PAPERS = 12;
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
  const digest = ownDigest();
  if (digest === null) return null;
  const seal = digest('seal ');
  return {
    keyOf: digest('key '),
    found: keptLines(textOf(folder, KEPT_FILE), seal),
    keep: (lines) => keep(folder, KEPT_FILE, () => keptText(lines, seal)),
  };
}

/**
 * Opens what is kept of one paper, under the same seal.
 *
 * @param what it is, and everything it depends on but the job's files
 * @returns null where this user has no place for a secret
 */
export function openKeptPaper(
  folder: string,
  what: string,
): { readonly found: string | null; readonly keep: (text: string) => void } | null {
  const digest = ownDigest();
  if (digest === null) return null;
  const seal = digest('seal ');
  const key = digest('paper ')(what);
  const name = `${PAPER}${key.slice(0, 32)}`;
  return {
    found: keptLines(textOf(folder, name), seal).get(key) ?? null,
    keep: (text) => keep(folder, name, () => keptText([{ key, text }], seal)),
  };
}

/** Digests nobody without this user's secret can make; null where there is no place for one. */
function ownDigest(): ((what: string) => (text: string) => string) | null {
  const secret = ownSecret();
  if (secret === null) return null;
  return (what) => (text) => createHmac('sha256', secret).update(what).update(text).digest('hex');
}

function textOf(folder: string, name: string): string {
  try {
    return readInputText(inJob(folder, `${KEPT_FOLDER}/${name}`), 'kept');
  } catch {
    return '';
  }
}

function keep(folder: string, name: string, text: () => string): void {
  try {
    const content = text();
    if (content.length <= MOST_CHARACTERS) write(folder, name, content);
  } catch {
    // Read-only, full, or a link where the folder should be: the answer was given all the same.
  }
}

function write(folder: string, name: string, text: string): void {
  const path = inJob(folder, KEPT_FOLDER);
  const file = inJob(folder, `${KEPT_FOLDER}/${name}`);
  mkdirSync(path, { recursive: true });
  const papers: { readonly path: string; readonly when: number }[] = [];
  for (const each of readdirSync(path)) {
    const other = join(path, each);
    // Another process may take it away this moment.
    const when = statSync(other, { throwIfNoEntry: false })?.mtimeMs;
    if (when === undefined) continue;
    if (each.startsWith('.writing-') && Date.now() - when > LEFT_OVER) rmSync(other, { force: true });
    if (each.startsWith(PAPER) && each !== name) papers.push({ path: other, when });
  }
  papers.sort((a, b) => b.when - a.when);
  for (const old of papers.slice(MOST_PAPERS - 1)) rmSync(old.path, { force: true });
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

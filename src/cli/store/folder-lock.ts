import { createHash, randomBytes } from 'node:crypto';
import {
  closeSync,
  fstatSync,
  openSync,
  readdirSync,
  readFileSync,
  readlinkSync,
  rmSync,
  statSync,
} from 'node:fs';
import { hostname } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { PAGE_LOCK, pageLockSince, SILENT_MS } from '../../folder/page-lock.ts';
import { InputError } from '../../input-error.ts';
import { onceLetGo } from './write-atomic.ts';

const PREFIX = '.busy-';
/** A lock left by another computer (shared folder) cannot be asked about; it counts as abandoned after this. */
const FOREIGN_ABANDONED_MS = 30 * 60_000;

/**
 * Runs `work` while no other process writes in the job folder.
 *
 * How: a process announces itself with a file of a name that is never used twice (computer, start of the computer,
 * process, start of the process, a random part), then lists all announcements. It goes on only when no other is
 * alive; otherwise it takes its own back and tries again a little later. Of two that announce at once, the one that
 * lists second sees the other, so two can never both go on. The announcement of a process that has died is told
 * apart by process id *and* start time, and removing it is safe, because no living process will ever own that name. A
 * page in a browser gives signs of life instead, and stops when it finds its announcement taken away.
 *
 * @param waitMs how long to wait for others, ms
 * @throws InputError when others were busy for all of `waitMs`, or the file system's error
 */
export async function withFolderLock<T>(folder: string, waitMs: number, work: () => Promise<T>): Promise<T> {
  const mine = await acquire(folder, waitMs);
  try {
    return await work();
  } finally {
    withdraw(folder, mine);
  }
}

async function acquire(folder: string, waitMs: number): Promise<string> {
  const started = performance.now();
  const mine = announcement();
  for (;;) {
    let other = aliveBesides(folder, mine);
    if (other === undefined) {
      closeSync(openSync(join(folder, mine), 'wx', 0o644));
      other = aliveBesides(folder, mine);
      if (other === undefined) return mine;
      withdraw(folder, mine);
    }
    if (performance.now() - started > waitMs) throw busy(folder, other);
    // Uneven waits, so that two that collide do not collide again.
    await sleep(5 + (randomBytes(1)[0]! / 255) * 40);
  }
}

function withdraw(folder: string, mine: string): void {
  onceLetGo(() => rmSync(join(folder, mine), { force: true }));
}

function busy(folder: string, other: string): InputError {
  const page = lifeOfPage(folder, other);
  if (page !== null) {
    return new InputError(
      `busy: a readings page, open in a browser, ${page.since === null ? 'is writing in this job' : `has been writing in this job since ${page.since.replace('T', ' ')} UTC`}; its last sign of life was ${Math.max(0, Math.round(page.silent / 1000))} s ago. Nothing was changed. Try again when it has finished; one that gives no sign for ${SILENT_MS / 1000} s is taken for gone (if it is closed already, delete ${join(folder, other)}).`,
    );
  }
  const owner = parse(other);
  const here = owner !== null && owner.host === HOST;
  // Where a system does not tell when a process began, another may have the number of one that died.
  const sure = here && owner.start !== '0';
  const who =
    owner === null ? 'another program' : `process ${owner.pid}${here ? '' : ' on another computer'}`;
  return new InputError(
    `busy: ${who} is writing in this job; nothing was changed. Try again when it has finished` +
      (sure ? '.' : ` (if it is no longer running, delete ${join(folder, other)}).`),
  );
}

/** The name of another announcement whose process is (or may be) alive; dead ones are removed on the way. */
function aliveBesides(folder: string, mine: string): string | undefined {
  for (const name of readdirSync(folder)) {
    if (!name.startsWith(PREFIX) || name === mine) continue;
    if (isAlive(folder, name)) return name;
    rmSync(join(folder, name), { force: true });
  }
  return undefined;
}

interface Owner {
  readonly host: string;
  readonly boot: string;
  readonly pid: number;
  readonly start: string;
}

function parse(name: string): Owner | null {
  const parts = /^\.busy-([0-9a-f]+)-([0-9a-f]+)-(\d+)-(\d+)-[0-9a-f]+$/.exec(name);
  return parts === null
    ? null
    : { host: parts[1]!, boot: parts[2]!, pid: Number.parseInt(parts[3]!, 10), start: parts[4]! };
}

/** What a page's announcement says of it; null where it is none. */
function lifeOfPage(
  folder: string,
  name: string,
): { readonly since: string | null; readonly silent: number } | null {
  if (!name.startsWith(PAGE_LOCK)) return null;
  try {
    const since = pageLockSince(readFileSync(join(folder, name), 'utf8'));
    const last = statSync(join(folder, name)).mtimeMs;
    return { since, silent: clockOf(folder) - last };
  } catch (error) {
    // Taken back meanwhile.
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return { since: null, silent: Infinity };
    throw error;
  }
}

/** What time it is by the clock that dates the files of a folder, which may be another computer's, ms. */
function clockOf(folder: string): number {
  const probe = join(folder, `.clock-${randomBytes(6).toString('hex')}`);
  const file = openSync(probe, 'wx', 0o644);
  try {
    return fstatSync(file).mtimeMs;
  } finally {
    closeSync(file);
    onceLetGo(() => rmSync(probe, { force: true }));
  }
}

function isAlive(folder: string, name: string): boolean {
  const page = lifeOfPage(folder, name);
  if (page !== null) return page.silent < SILENT_MS;
  const owner = parse(name);
  if (owner === null || owner.host !== HOST) {
    try {
      return Date.now() - statSync(join(folder, name)).mtimeMs < FOREIGN_ABANDONED_MS;
    } catch {
      return false;
    }
  }
  if (owner.boot !== BOOT) return false;
  try {
    process.kill(owner.pid, 0);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ESRCH') return false;
  }
  // The number is in use; is it still the same process? Where that cannot be known, it counts as alive.
  const start = startOf(owner.pid);
  return start === '0' || owner.start === '0' || start === owner.start;
}

function announcement(): string {
  return `${PREFIX}${HOST}-${BOOT}-${process.pid}-${startOf(process.pid)}-${randomBytes(6).toString('hex')}`;
}

/** Start time of a process in clock ticks since the computer started (Linux); "0" where that cannot be known. */
function startOf(pid: number): string {
  try {
    const text = readFileSync(`/proc/${pid}/stat`, 'latin1');
    // The second field is the name in brackets and may itself hold blanks and brackets; field 22 is the start.
    const fields = text.slice(text.lastIndexOf(')') + 2).split(' ');
    // A zombie has ended: it holds no file and will never write again.
    return fields[0] === 'Z' ? '-1' : (fields[19] ?? '0');
  } catch {
    return '0';
  }
}

function shortHash(text: string): string {
  return createHash('sha256').update(text).digest('hex').slice(0, 12);
}

function textOf(read: () => string): string {
  try {
    return read().trim();
  } catch {
    return '';
  }
}

/** This computer and process-number space (containers have their own). */
const HOST = shortHash(
  [
    hostname(),
    textOf(() => readFileSync('/etc/machine-id', 'utf8')),
    textOf(() => readlinkSync('/proc/self/ns/pid')),
  ].join('\n'),
);
/** This start of the computer. */
const BOOT = shortHash(textOf(() => readFileSync('/proc/sys/kernel/random/boot_id', 'utf8')));

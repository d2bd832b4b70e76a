import { BEAT_MS, PAGE_LOCK, pageLockSince, pageLockText, SILENT_MS } from '../../folder/page-lock.ts';
import { sha256Hex } from '../../sha256.ts';
import { utf8Bytes, utf8Text } from '../../utf8.ts';
import type { FolderDoor } from './folder-door.ts';
import { BUSY, changesSince, readFolder } from './folder-now.ts';
import type { FolderPlan } from './folder-plan.ts';

export type Written =
  | { readonly kind: 'written' }
  /** Nothing was written: the folder is not what it was. */
  | { readonly kind: 'changed'; readonly changes: readonly string[] }
  /** Nothing was written: somebody else is writing, since when is null where that is not known. */
  | { readonly kind: 'busy'; readonly file: string; readonly since: string | null }
  /** The page was held up so long that somebody else took it for gone; what it had written so far is whole. */
  | { readonly kind: 'held-up' }
  /** A write did not arrive as it was sent. */
  | { readonly kind: 'not-as-written'; readonly file: string };

/** An announcement of a command line that nobody took back counts as abandoned after this, as there. */
const ABANDONED_MS = 30 * 60_000;

/**
 * Writes a plan into its folder if the folder is still what it was planned for. While it writes it is announced there,
 * as the command line announces itself: whoever comes second sees the other and waits. It gives signs of life, and stops
 * where its announcement was taken away.
 *
 * @param token letters, digits and `-` nobody else has
 * @param now ms
 * @param isGone whether the page that announced itself under a token is known to be no more: it is not waited for
 */
export async function writeFolder(
  door: FolderDoor,
  plan: FolderPlan,
  token: string,
  now: number,
  isGone: (token: string) => Promise<boolean> = () => Promise.resolve(false),
): Promise<Written> {
  const mine = PAGE_LOCK + token;
  const life = await announced(door, mine, new Date(now).toISOString());
  try {
    const other = await busyBesides(door, mine, now, isGone);
    if (other !== null) return { kind: 'busy', ...other };
    const changes = changesSince(plan.before, await readFolder(door));
    if (changes.length > 0) return { kind: 'changed', changes };
    for (const step of plan.steps) {
      if (!(await life.goesOn())) return { kind: 'held-up' };
      if (step.kind === 'write') await door.write(step.file, step.bytes);
      else await door.remove(step.file);
    }
    const last = new Map(
      plan.steps.flatMap((step) => (step.kind === 'write' ? [[step.file, step.bytes]] : [])),
    );
    for (const step of plan.steps) if (step.kind === 'remove') last.delete(step.file);
    for (const [file, bytes] of last) {
      const read = await door.read(file);
      if (read === null || sha256Hex(read) !== sha256Hex(bytes)) return { kind: 'not-as-written', file };
    }
    return { kind: 'written' };
  } finally {
    await life.end();
  }
}

/** Announces a page in the folder, with signs of life until it ends. */
async function announced(door: FolderDoor, mine: string, since: string) {
  let beat = 0;
  const sign = () => door.write(mine, utf8Bytes(pageLockText(since, beat++)));
  let last: Promise<unknown> = sign();
  await last;
  const goesOn = async () => (await door.changed(mine)) !== null;
  const timer = setInterval(() => {
    last = last.then(async () => ((await goesOn()) ? sign() : undefined)).catch(() => undefined);
  }, BEAT_MS);
  return {
    /** False where somebody took the announcement away. */
    goesOn: async () => {
      await last;
      return goesOn();
    },
    end: async () => {
      clearInterval(timer);
      await last;
      await door.remove(mine).catch(() => undefined);
    },
  };
}

/** Who else is writing; those that are gone are taken away. */
async function busyBesides(
  door: FolderDoor,
  mine: string,
  now: number,
  isGone: (token: string) => Promise<boolean>,
): Promise<{ readonly file: string; readonly since: string | null } | null> {
  const clock = await door.changed(mine);
  // A browser writes beside the file it is going to be.
  const names = (await door.files(() => true)).filter(
    (each) => each.startsWith(BUSY) && !each.startsWith(mine),
  );
  for (const file of names) {
    const changed = await door.changed(file);
    if (changed === null) continue;
    if (!file.startsWith(PAGE_LOCK)) {
      if (now - changed < ABANDONED_MS) return { file, since: null };
      continue;
    }
    const silent = clock !== null && clock - changed >= SILENT_MS;
    if (silent || (await isGone(file.slice(PAGE_LOCK.length)))) await door.remove(file);
    else return { file, since: pageLockSince(await textOf(door, file)) };
  }
  return null;
}

async function textOf(door: FolderDoor, file: string): Promise<string> {
  const bytes = await door.read(file);
  return bytes === null ? '' : utf8Text(bytes);
}

import { sha256Hex } from '../../sha256.ts';
import type { FolderDoor } from './folder-door.ts';
import { BUSY, changesSince, readFolder } from './folder-now.ts';
import type { FolderPlan } from './folder-plan.ts';

export type Written =
  | { readonly kind: 'written' }
  /** Nothing was written: the folder is not what it was. */
  | { readonly kind: 'changed'; readonly changes: readonly string[] }
  /** Nothing was written: somebody else is writing. */
  | { readonly kind: 'busy'; readonly file: string }
  /** A write did not arrive as it was sent. */
  | { readonly kind: 'not-as-written'; readonly file: string };

/** An announcement nobody took back counts as abandoned after this, as the command line has it. */
const ABANDONED_MS = 30 * 60_000;

/**
 * Writes a plan into its folder if the folder is still what it was planned for. While it writes it is announced there,
 * as the command line announces itself: whoever comes second sees the other and waits.
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
  const page = `${BUSY}page-`;
  const mine = page + token;
  const other = async (): Promise<string | undefined> => {
    const names = await door.files(() => true);
    for (const name of names.filter((each) => each.startsWith(BUSY) && each !== mine)) {
      const changed = await door.changed(name);
      if (changed === null || now - changed >= ABANDONED_MS) continue;
      if (name.startsWith(page) && (await isGone(name.slice(page.length)))) await door.remove(name);
      else return name;
    }
    return undefined;
  };
  const before = await other();
  if (before !== undefined) return { kind: 'busy', file: before };
  await door.write(mine, new Uint8Array(0));
  try {
    const beside = await other();
    if (beside !== undefined) return { kind: 'busy', file: beside };
    const changes = changesSince(plan.before, await readFolder(door));
    if (changes.length > 0) return { kind: 'changed', changes };
    for (const step of plan.steps) {
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
    await door.remove(mine).catch(() => undefined);
  }
}

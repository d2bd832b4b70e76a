const BROWSER = 'sweepbook-browser';
const LOCK = 'sweepbook-window-';

/** Names of windows, so that what a window left behind when it died is told from what one is still writing. */
export interface WindowNames {
  /** Letters and digits: this browser, then this window. */
  readonly own: string;
  /** True only where a name is of a window of this very browser that is no more. */
  readonly isGone: (name: string) => Promise<boolean>;
}

/**
 * Names this window for as long as it lives, by a lock the browser lets go of when the window is gone, however it went.
 * Where a browser has no such locks, or keeps nothing, no window is ever said to be gone.
 *
 * @param fresh letters and digits nobody else has
 */
export function windowNames(fresh: () => string): WindowNames {
  const window = fresh();
  const { locks } = navigator as { readonly locks?: LockManager };
  const browser = browserName(fresh);
  const own = `${browser ?? fresh()}-${window}`;
  if (locks === undefined || browser === null) return { own, isGone: () => Promise.resolve(false) };
  const held = new Promise<boolean>((resolve) => {
    locks
      .request(LOCK + own, () => {
        resolve(true);
        return new Promise<never>(() => undefined);
      })
      .catch(() => resolve(false));
  });
  return {
    own,
    isGone: async (name) => {
      // Of another browser or device nothing can be known from here.
      if (!name.startsWith(`${browser}-`) || !(await held)) return false;
      const { held: all } = await locks.query();
      return !(all ?? []).some((each) => each.name === LOCK + name);
    },
  };
}

function browserName(fresh: () => string): string | null {
  try {
    const known = localStorage.getItem(BROWSER);
    if (known !== null && /^[a-z0-9]+$/i.test(known)) return known;
    const name = fresh();
    localStorage.setItem(BROWSER, name);
    return localStorage.getItem(BROWSER) === name ? name : null;
  } catch {
    return null;
  }
}

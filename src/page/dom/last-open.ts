const LAST_OPEN = 'sweepbook-open-job';

/** Id of the job that was open last; only a convenience, the first screen offers it anyway. */
export function recall(): string | null {
  try {
    return localStorage.getItem(LAST_OPEN);
  } catch {
    return null;
  }
}

/** Remembers which job is open; null: none. */
export function remember(id: string | null): void {
  try {
    if (id === null) localStorage.removeItem(LAST_OPEN);
    else localStorage.setItem(LAST_OPEN, id);
  } catch {
    // as above
  }
}

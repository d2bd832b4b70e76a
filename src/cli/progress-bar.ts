import { inertText } from '../inert-text.ts';
import type { Io } from './io.ts';

export interface ProgressBar {
  readonly show: (what: string, done: number, total: number) => void;
  /** Takes the bar away; call it before anything else is written. */
  readonly clear: () => void;
}

/** Work shorter than this shows no bar at all, ms. */
const QUIET = 400;
const EVERY = 100;

/** A progress bar on stderr, on a terminal only; elsewhere it does nothing. */
export function progressBar(io: Io): ProgressBar {
  if (!io.errIsTerminal) return { show: () => {}, clear: () => {} };
  const started = io.now().getTime();
  const width = Math.max(20, Math.min(io.columns, 100)) - 1;
  let shown = 0;
  let visible = false;
  return {
    show: (what, done, total) => {
      const now = io.now().getTime();
      if (now - started < QUIET || now - shown < EVERY) return;
      shown = now;
      visible = true;
      const share = total > 0 ? Math.min(1, done / total) : 1;
      const percent = ` ${String(Math.floor(share * 100)).padStart(3)} %`;
      const name = inertText(what).slice(0, Math.floor(width / 3));
      const cells = Math.max(4, width - name.length - percent.length - 3);
      const full = Math.floor(share * cells);
      io.err(`\r${name} [${'#'.repeat(full)}${'.'.repeat(cells - full)}]${percent}`.slice(0, width + 1));
    },
    clear: () => {
      if (visible) io.err(`\r${' '.repeat(width)}\r`);
      visible = false;
    },
  };
}

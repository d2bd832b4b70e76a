import { styleText } from 'node:util';
import type { TextStyle } from '../status/status-text.ts';
import type { Io } from './io.ts';

const COLOURS = { good: 'green', warn: 'yellow', bad: 'red', strong: 'bold', faint: 'dim' } as const;

/** How status text looks on this output: colour only where the terminal has it. */
export function terminalStyle(io: Io): TextStyle {
  return {
    columns: io.columns,
    paint: (role, text) => (io.colour ? styleText(COLOURS[role], text) : text),
  };
}

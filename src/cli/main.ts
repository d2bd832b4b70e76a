import { isMainThread } from 'node:worker_threads';
import { ORDINARY_COLUMNS } from '../wrap-text.ts';
import { COMMANDS } from './commands/index.ts';
import type { Io } from './io.ts';
import { run } from './program.ts';
import { describeSystemError } from './system-error.ts';
import { terminalText } from './terminal-text.ts';

// A reader that closes the pipe early (`| head`) is a normal end, not a fault.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code === 'EPIPE') return;
  process.exitCode = 1;
  process.stderr.write(`sweepbook: ${describeSystemError(error) ?? error.message}\n`);
});
// Nothing can be said where nobody listens.
process.stderr.on('error', () => {});

function send(stream: NodeJS.WriteStream, text: string): void {
  const isTerminal = stream.isTTY === true;
  stream.write(
    terminalText(text, { colour: isTerminal && !noColour, redraw: isTerminal && stream === process.stderr }),
  );
}

/** Where the shell stands; a folder deleted meanwhile has no name any more. */
function workingFolder(): string {
  try {
    return process.cwd();
  } catch {
    process.stderr.write(
      'sweepbook: the folder you are in does not exist any more; change to another one.\n',
    );
    process.exit(1);
  }
}

const noColour = process.env.NO_COLOR !== undefined && process.env.NO_COLOR !== '';
const io: Io = {
  out: (text) => send(process.stdout, text),
  err: (text) => send(process.stderr, text),
  isTerminal: process.stdout.isTTY === true,
  errIsTerminal: process.stderr.isTTY === true,
  columns: process.stdout.columns || ORDINARY_COLUMNS,
  colour: process.stdout.isTTY === true && !noColour,
  now: () => new Date(),
  cwd: workingFolder(),
  pastFolder: process.env.SWEEPBOOK_PAST,
  // exitCode, never exit(): exit() cuts a pipe off at 64 KiB.
  setExit: (status) => {
    process.exitCode = status;
  },
};

/** When the command, or a thread's share of its lines, is done. */
export const done = (
  isMainThread ? run(process.argv.slice(2), io, COMMANDS) : import('./line-worker.ts')
).catch((error: unknown) => {
  const message = error instanceof Error ? error.message : String(error);
  io.err(`sweepbook: something went wrong inside the program (not in your files): ${message}\n`);
  if (process.env.SWEEPBOOK_DEBUG !== undefined && error instanceof Error) io.err(`${error.stack}\n`);
  process.exitCode = 1;
});

import { Command, CommanderError } from 'commander';
import { inertText } from '../inert-text.ts';
import { describeProblems, InputError } from '../input-error.ts';
import type { Io } from './io.ts';
import { describeSystemError } from './system-error.ts';

/** Lines of problems listed; a file with more is not a readings file with slips in it. */
const MOST_LISTED = 500;

const VERSION = '0.1.0';

/** Adds one command to the program; the work is imported inside its action, so that start-up stays short. */
export type AddCommand = (program: Command, io: Io) => void;

/** The command tree. No side effect at import, no process access: everything goes through `io`. */
export function buildProgram(io: Io, commands: readonly AddCommand[]): Command {
  const program = new Command('sweepbook');
  program
    .description(
      'Offset readings of an impact-damaged girder: where is it bent, is straightening still working, is it done.',
    )
    .version(VERSION)
    .showSuggestionAfterError(true)
    .exitOverride()
    .configureOutput({ writeOut: io.out, writeErr: io.err });
  for (const add of commands) add(program, io);
  return program;
}

/** Runs one command line and sets the exit status: 0 done, 1 input could not be used, 2 wrong usage. */
export async function run(argv: readonly string[], io: Io, commands: readonly AddCommand[]): Promise<void> {
  const program = buildProgram(io, commands);
  try {
    if (argv.length === 0) {
      program.outputHelp({ error: true });
      io.setExit(2);
      return;
    }
    await program.parseAsync([...argv], { from: 'user' });
  } catch (error) {
    if (error instanceof CommanderError) {
      io.setExit(error.exitCode === 0 ? 0 : 2);
      return;
    }
    if (error instanceof InputError) {
      io.err(`sweepbook: ${inertText(error.message)}\n`);
      const lines = describeProblems(error.problems);
      for (const line of lines.slice(0, MOST_LISTED)) io.err(`  ${line}\n`);
      const more = lines.length - MOST_LISTED;
      if (more > 0) io.err(`  and ${more} more\n`);
      io.setExit(1);
      return;
    }
    const refused = describeSystemError(error);
    if (refused === null) throw error;
    io.err(`sweepbook: ${refused}\n`);
    io.setExit(1);
  }
}

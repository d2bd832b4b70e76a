import type { Io } from '../../src/cli/io.ts';
import { type AddCommand, run } from '../../src/cli/program.ts';

/** What one command line wrote, and its exit status. */
export interface Said {
  out: string;
  err: string;
  status: number;
}

/** Runs one command line in this process, off a terminal, in a folder and at a time of the test's choosing. */
export async function runInProcess(
  args: readonly string[],
  commands: readonly AddCommand[],
  io: Pick<Io, 'cwd' | 'now'> & Partial<Io>,
): Promise<Said> {
  const said: Said = { out: '', err: '', status: 0 };
  await run(
    [...args],
    {
      out: (text) => {
        said.out += text;
      },
      err: (text) => {
        said.err += text;
      },
      isTerminal: false,
      errIsTerminal: false,
      columns: 80,
      colour: false,
      setExit: (status) => {
        said.status = status;
      },
      ...io,
    },
    commands,
  );
  return said;
}

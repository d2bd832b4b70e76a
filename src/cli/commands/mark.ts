import { resolve } from 'node:path';
import type { AddCommand } from '../program.ts';

interface MarkOptions {
  readonly file?: string;
  readonly row?: string;
  readonly cycle?: string;
  readonly setAside?: boolean;
  readonly reinstate?: boolean;
  readonly who?: string;
  readonly why?: string;
  readonly list?: boolean;
  readonly json?: boolean;
}

export const addMark: AddCommand = (program, io) => {
  const command = program
    .command('mark')
    .description('set readings aside by hand, or reinstate them; the ledger keeps who and why')
    .argument('<job>', 'job folder')
    .option('--file <csv>', 'the file as the job names it, such as readings/cycle-3.csv')
    .option('--row <rows>', 'rows (file lines) with commas, such as 12 or 12,14-16')
    .option('--cycle <cycles>', 'which readings of a field-sheet row: cycles with commas, or "all"')
    .option('--set-aside', 'keep them out of the fit (they stay visible)')
    .option('--reinstate', 'let them count again, whatever the rules say')
    .option('--who <name>', 'who decided')
    .option('--why <text>', 'why')
    .option('--list', 'list the marks in force instead')
    .option('--json', 'print the result as JSON')
    .addHelpText(
      'after',
      `
Example:
  sweepbook mark juniper-girder-4 --file readings/cycle-3.csv --row 12 --set-aside \\
    --who "R. Alder" --why "string touched the hanger"
`,
    );
  command.action(async (given: string, options: MarkOptions) => {
    const { parseRows } = await import('../store/parse-rows.ts');
    const folder = resolve(io.cwd, given);
    if (options.list === true) {
      const { openJob } = await import('../store/open-job.ts');
      const { marksInForce, marksText } = await import('../store/marks-text.ts');
      const inForce = marksInForce((await openJob(folder)).marks);
      io.out(
        options.json === true
          ? `${JSON.stringify({ schema: 'sweepbook/marks/1', marks: inForce }, null, 2)}\n`
          : marksText(inForce),
      );
      return;
    }
    const faults: string[] = [];
    if ((options.setAside === true) === (options.reinstate === true)) {
      faults.push('give either --set-aside or --reinstate');
    }
    for (const name of ['file', 'row', 'who', 'why'] as const) {
      if ((options[name] ?? '').trim() === '') faults.push(`option '--${name}' is needed`);
    }
    const rows = parseRows(options.row ?? '');
    if (rows === null && options.row !== undefined) {
      faults.push(`option '--row' is row numbers such as 12 or 12,14-16, not '${options.row}'`);
    }
    const cycles = cyclesOf(options.cycle);
    if (cycles === undefined) {
      faults.push(`option '--cycle' is cycle numbers such as 3 or 3,4, or all, not '${options.cycle}'`);
    }
    if (faults.length > 0 || rows === null || cycles === undefined) {
      return command.error(faults.map((fault) => `error: ${fault}`).join('\n'), { exitCode: 2 });
    }

    const { markReadings } = await import('../store/mark-readings.ts');
    const action = options.setAside === true ? 'set-aside' : 'reinstate';
    const result = await markReadings(
      folder,
      {
        action,
        file: options.file!,
        rows,
        cycles,
        who: options.who!.trim(),
        why: options.why!.trim(),
      },
      io.now().toISOString(),
      15_000,
    );
    if (options.json === true) {
      io.out(`${JSON.stringify({ schema: 'sweepbook/mark/1', ...result, action }, null, 2)}\n`);
    } else {
      const what = `${result.rows.length} reading${result.rows.length === 1 ? '' : 's'} of ${result.file}`;
      io.out(
        `${action === 'set-aside' ? 'Set aside' : 'Reinstated'}: ${what} (ledger record ${result.seq}).\n`,
      );
    }
  });
};

function cyclesOf(text: string | undefined): readonly number[] | 'all' | null | undefined {
  if (text === undefined) return null;
  if (text.trim().toLowerCase() === 'all') return 'all';
  const parts = text.split(',').map((part) => part.trim());
  return parts.every((part) => /^\d{1,4}$/.test(part))
    ? parts.map((part) => Number.parseInt(part, 10))
    : undefined;
}

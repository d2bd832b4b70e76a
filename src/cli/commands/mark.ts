import { resolve } from 'node:path';
import { inertText } from '../../inert-text.ts';
import type { AddCommand } from '../program.ts';

interface MarkOptions {
  readonly file?: string;
  readonly row?: string;
  readonly cycle?: string;
  readonly station?: string;
  readonly setAside?: boolean;
  readonly reinstate?: boolean;
  readonly copy?: boolean;
  readonly genuine?: boolean;
  readonly accept?: boolean;
  readonly who?: string;
  readonly why?: string;
  readonly list?: boolean;
  readonly json?: boolean;
}

const ACTIONS = ['setAside', 'reinstate', 'copy', 'genuine', 'accept'] as const;
const DONE = { copy: 'Left out as a copy', genuine: 'Counts as read again', accept: 'Stands as it is' };

export const addMark: AddCommand = (program, io) => {
  const command = program
    .command('mark')
    .description(
      'decide by hand, on the record: set readings aside, say what a sheet is, accept a changed file',
    )
    .argument('<job>', 'job folder')
    .option('--file <csv>', 'the file as the job names it, such as readings/cycle-3.csv')
    .option('--row <rows>', 'rows (file lines) with commas, such as 12 or 12,14-16')
    .option('--cycle <cycles>', 'which readings of a field-sheet row: cycles with commas, or "all"')
    .option(
      '--station <stations>',
      'which readings of a row of a panel’s grid: stations with semicolons between, or "all"',
    )
    .option('--set-aside', 'keep them out of the fit (they stay visible)')
    .option('--reinstate', 'let them count again, whatever the rules say')
    .option('--copy', 'the file (or its --cycle) is another sheet over again: it stays out')
    .option('--genuine', 'the steel was read again and gave the very same: it counts')
    .option('--accept', 'a file that differs from its record (or is not recorded yet) stands as it is now')
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
  sweepbook mark juniper-girder-4 --file readings/cycle-9.csv --copy \\
    --who "R. Alder" --why "sent twice"
`,
    );
  command.action(async (given: string, options: MarkOptions) => {
    const { parseRows } = await import('../store/parse-rows.ts');
    const folder = resolve(io.cwd, given);
    if (options.list === true) {
      const { openJob } = await import('../store/open-job.ts');
      const { marksInForce, marksText } = await import('../store/marks-text.ts');
      const opened = await openJob(folder);
      const inForce = marksInForce(opened.marks);
      io.out(
        options.json === true
          ? `${JSON.stringify({ schema: 'sweepbook/marks/1', marks: inForce }, null, 2)}\n`
          : marksText(inForce, opened.job.units),
      );
      return;
    }
    const faults: string[] = [];
    const asked = ACTIONS.filter((each) => options[each] === true);
    if (asked.length !== 1) faults.push('give one of --set-aside, --reinstate, --copy, --genuine, --accept');
    const ofRows = options.setAside === true || options.reinstate === true;
    for (const name of ofRows
      ? (['file', 'row', 'who', 'why'] as const)
      : (['file', 'who', 'why'] as const)) {
      if ((options[name] ?? '').trim() === '') faults.push(`option '--${name}' is needed`);
    }
    if (!ofRows && options.station !== undefined)
      faults.push('option --station goes with --set-aside or --reinstate');
    if (!ofRows && options.row !== undefined)
      faults.push('option --row goes with --set-aside or --reinstate');
    const rows = ofRows ? parseRows(options.row ?? '') : [];
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

    const { acceptFile, declareSheet, markReadings } = await import('../store/mark-readings.ts');
    const said = { file: options.file!, who: options.who!.trim(), why: options.why!.trim() };
    if (!ofRows) {
      const when = () => io.now().toISOString();
      const declared = asked[0] as 'copy' | 'genuine' | 'accept';
      const result =
        declared === 'accept'
          ? await acceptFile(folder, said, when, 15_000)
          : await declareSheet(
              folder,
              { ...said, action: declared, cycles: cycles === 'all' ? null : cycles },
              when,
              15_000,
            );
      io.out(
        options.json === true
          ? `${JSON.stringify({ schema: 'sweepbook/mark/1', ...result, action: declared }, null, 2)}\n`
          : `${DONE[declared]}: ${inertText(result.file)} (ledger record ${result.seq}).\n`,
      );
      return;
    }
    const action = options.setAside === true ? 'set-aside' : 'reinstate';
    const result = await markReadings(
      folder,
      {
        ...said,
        ...{ action, rows, cycles, stations: options.station },
      },
      () => io.now().toISOString(),
      15_000,
    );
    if (options.json === true) {
      io.out(`${JSON.stringify({ schema: 'sweepbook/mark/1', ...result, action }, null, 2)}\n`);
    } else {
      const count = result.readings;
      const what = `${count} reading${count === 1 ? '' : 's'} of ${result.file}`;
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

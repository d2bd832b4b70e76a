import { resolve } from 'node:path';
import { inertText } from '../../inert-text.ts';
import type { Io } from '../io.ts';
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

const ACTIONS = [
  ['setAside', 'set-aside'],
  ['reinstate', 'reinstate'],
  ['copy', 'copy'],
  ['genuine', 'genuine'],
  ['accept', 'accept'],
] as const;
const DONE: Readonly<Record<Action, string>> = {
  'set-aside': 'Set aside',
  reinstate: 'Reinstated',
  copy: 'Left out as a copy',
  genuine: 'Counts as read again',
  accept: 'Stands as it is',
};
/** How long a decision waits for another process that writes in the job. */
const WAIT_MS = 15_000;

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
    const folder = resolve(io.cwd, given);
    if (options.list === true) return listMarks(folder, io, options.json === true);
    const asked = await askedOf(options);
    if (Array.isArray(asked))
      return command.error(asked.map((fault) => `error: ${fault}`).join('\n'), { exitCode: 2 });
    const result = await made(folder, asked, () => io.now().toISOString());
    io.out(
      options.json === true
        ? `${JSON.stringify({ schema: 'sweepbook/mark/1', ...result, action: asked.action }, null, 2)}\n`
        : doneText(asked.action, result),
    );
  });
};

async function listMarks(folder: string, io: Io, json: boolean): Promise<void> {
  const { openJob } = await import('../store/open-job.ts');
  const { marksInForce, marksText } = await import('../store/marks-text.ts');
  const opened = await openJob(folder);
  const marks = marksInForce(opened.marks);
  io.out(
    json
      ? `${JSON.stringify({ schema: 'sweepbook/marks/1', marks }, null, 2)}\n`
      : marksText(marks, opened.job.units),
  );
}

type Action = 'set-aside' | 'reinstate' | 'copy' | 'genuine' | 'accept';

/** A decision with what it needs, or every fault of the options. */
interface Asked {
  readonly action: Action;
  readonly said: { readonly file: string; readonly who: string; readonly why: string };
  readonly rows: readonly number[];
  readonly cycles: readonly number[] | 'all' | null;
  readonly stations: string | undefined;
}

async function askedOf(options: MarkOptions): Promise<Asked | string[]> {
  const { parseRows } = await import('../store/parse-rows.ts');
  const faults: string[] = [];
  const asked = ACTIONS.filter(([option]) => options[option] === true);
  if (asked.length !== 1) faults.push('give one of --set-aside, --reinstate, --copy, --genuine, --accept');
  const ofRows = options.setAside === true || options.reinstate === true;
  for (const name of ofRows ? (['file', 'row', 'who', 'why'] as const) : (['file', 'who', 'why'] as const)) {
    if ((options[name] ?? '').trim() === '') faults.push(`option '--${name}' is needed`);
  }
  for (const name of ['station', 'row'] as const) {
    if (!ofRows && options[name] !== undefined)
      faults.push(`option --${name} goes with --set-aside or --reinstate`);
  }
  const rows = ofRows ? parseRows(options.row ?? '') : [];
  if (rows === null && options.row !== undefined) {
    faults.push(`option '--row' is row numbers such as 12 or 12,14-16, not '${options.row}'`);
  }
  const cycles = cyclesOf(options.cycle);
  if (cycles === undefined) {
    faults.push(`option '--cycle' is cycle numbers such as 3 or 3,4, or all, not '${options.cycle}'`);
  }
  if (faults.length > 0 || rows === null || cycles === undefined) return faults;
  const said = { file: options.file!, who: options.who!.trim(), why: options.why!.trim() };
  return { action: asked[0]![1], said, rows, cycles, stations: options.station };
}

async function made(folder: string, { action, said, rows, cycles, stations }: Asked, when: () => string) {
  const { acceptFile, declareSheet, markReadings } = await import('../store/mark-readings.ts');
  if (action === 'accept') return acceptFile(folder, said, when, WAIT_MS);
  if (action === 'set-aside' || action === 'reinstate')
    return markReadings(folder, { ...said, action, rows, cycles, stations }, when, WAIT_MS);
  const declared = { ...said, action, cycles: cycles === 'all' ? null : cycles };
  return declareSheet(folder, declared, when, WAIT_MS);
}

function doneText(action: Action, result: Awaited<ReturnType<typeof made>>): string {
  const record = `(ledger record ${result.seq}).\n`;
  if (!('readings' in result)) return `${DONE[action]}: ${inertText(result.file)} ${record}`;
  const { readings, file } = result;
  return `${DONE[action]}: ${readings} reading${readings === 1 ? '' : 's'} of ${file} ${record}`;
}

function cyclesOf(text: string | undefined): readonly number[] | 'all' | null | undefined {
  if (text === undefined) return null;
  if (text.trim().toLowerCase() === 'all') return 'all';
  const parts = text.split(',').map((part) => part.trim());
  return parts.every((part) => /^\d{1,4}$/.test(part))
    ? parts.map((part) => Number.parseInt(part, 10))
    : undefined;
}

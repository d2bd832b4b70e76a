import { basename, resolve } from 'node:path';
import { type Command, InvalidArgumentError, Option } from 'commander';
import type { PastRecord } from '../../past/record.ts';
import type { Io } from '../io.ts';
import type { AddCommand } from '../program.ts';

const OUTCOMES: readonly PastRecord['outcome'][] = ['within', 'plated', 'stopped', 'replaced'];

export const addPast: AddCommand = (program, io) => {
  const past = program
    .command('past')
    .description('finished jobs an agency keeps to learn from: add, list, show, check')
    .addHelpText(
      'after',
      `
A finished job becomes one line of past.jsonl: numbers of the damage, the heats, days and money, no names of people.

Example:
  sweepbook past add juniper-lane-girder-4 --outcome within --past finished-jobs
`,
    );
  addPastAdd(past, io);
  addPastList(past, io);
  addPastShow(past, io);
  addPastCheck(past, io);
};

const folderOption = () =>
  new Option('--past <folder>', 'folder of finished jobs (default: $SWEEPBOOK_PAST)');

function addPastAdd(past: Command, io: Io): void {
  past
    .command('add')
    .description('distil a finished job folder to a record, or take a record typed in by hand')
    .argument('[job]', 'job folder')
    .addOption(folderOption())
    .option('--from <file>', 'a record as JSON instead, for a job done before (see dist/past.schema.json)')
    .addOption(new Option('--outcome <word>', 'how the job ended').choices(OUTCOMES))
    .option('--crew-jobs <count>', 'such jobs the crew had done before this one', wholeNumber)
    .action(
      async (
        given: string | undefined,
        options: { past?: string; from?: string; outcome?: PastRecord['outcome']; crewJobs?: number },
        command: Command,
      ) => {
        if ((given === undefined) === (options.from === undefined)) {
          command.error('error: give a job folder or --from <file>, one of the two', { exitCode: 2 });
        }
        if (options.from !== undefined && (options.outcome !== undefined || options.crewJobs !== undefined)) {
          command.error('error: a record given by --from says its outcome and crewJobs itself', {
            exitCode: 2,
          });
        }
        if (given !== undefined && options.outcome === undefined) {
          command.error(`error: --outcome says how the job ended: ${OUTCOMES.join(', ')}`, { exitCode: 2 });
        }
        const { addPastRecord, requirePastFolder } = await import('../past-folder.ts');
        const folder = requirePastFolder(io, options.past, command);
        const { readInputText } = await import('../store/open-input.ts');
        const { parsePastRecord } = await import('../../past/record.ts');
        const record =
          given === undefined
            ? parsePastRecord(readInputText(resolve(io.cwd, options.from!), 'past'), basename(options.from!))
            : (await import('../../papers/distil-job.ts')).distilJob(
                await (await import('../store/open-job.ts')).openJob(resolve(io.cwd, given)),
                { outcome: options.outcome!, crewJobs: options.crewJobs ?? null },
              );
        io.out(addPastRecord(folder, record));
      },
    );
}

function addPastList(past: Command, io: Io): void {
  past
    .command('list')
    .description('every finished job on a line')
    .addOption(folderOption())
    .option('--json', 'print the records as JSON')
    .action(async (options: { past?: string; json?: boolean }, command: Command) => {
      const { readPastFolder, requirePastFolder, tellProblems } = await import('../past-folder.ts');
      const { lines, problems, replaced } = readPastFolder(requirePastFolder(io, options.past, command));
      tellProblems(io, problems);
      if (options.json === true) {
        io.out(`${JSON.stringify({ schema: 'sweepbook/past-list/1', jobs: lines }, null, 2)}\n`);
        return;
      }
      const { table } = await import('../store/text-table.ts');
      const { linesOf, saysAllLines } = await import('../../past/record.ts');
      const or = (value: number | string | null | undefined) => (value == null ? '–' : `${value}`);
      io.out(
        lines.length === 0
          ? 'No finished jobs yet.\n'
          : `${table(
              ['record', 'job', 'finished', 'outcome', 'lines', 'cycles', 'vees', 'days'],
              lines.map(({ sha256, record }) => [
                sha256.slice(0, 8),
                record.job,
                or(record.finished),
                record.outcome,
                saysAllLines(record) ? `${linesOf(record).length}` : '–',
                or(record.cycles),
                or(record.vees),
                or(record.days.all),
              ]),
            ).join('\n')}\n${
              replaced.length === 0
                ? ''
                : `${replaced.length === 1 ? 'One line' : `${replaced.length} lines`} of the file no longer ${replaced.length === 1 ? 'counts' : 'count'}: a later record of the same job stands in its place.\n`
            }`,
      );
    });
}

function addPastShow(past: Command, io: Io): void {
  past
    .command('show')
    .description('one record, whole')
    .argument('<record>', 'first letters of its SHA-256, or the name of the job')
    .addOption(folderOption())
    .action(async (wanted: string, options: { past?: string }, command: Command) => {
      const { readPastFolder, requirePastFolder, tellProblems } = await import('../past-folder.ts');
      const { lines, problems, replaced } = readPastFolder(requirePastFolder(io, options.past, command));
      tellProblems(io, problems);
      // By its name a job is the record that counts; what a later one stands for is shown by its SHA-256.
      const named = lines.filter(({ record }) => record.job === wanted);
      const found =
        named.length > 0 ? named : [...lines, ...replaced].filter(({ sha256 }) => sha256.startsWith(wanted));
      if (found.length !== 1) {
        const { InputError } = await import('../../input-error.ts');
        throw new InputError(`"${wanted}" is not one record.`, [
          {
            file: 'past.jsonl',
            found: found.length === 0 ? 'none of that name' : `${found.length} of them`,
            expected: 'the first letters of the SHA-256 of one record (sweepbook past list)',
          },
        ]);
      }
      io.out(`${JSON.stringify(found[0], null, 2)}\n`);
    });
}

function addPastCheck(past: Command, io: Io): void {
  past
    .command('check')
    .description('forecast every finished job from the others, and say how the forecasts came out')
    .addOption(folderOption())
    .option('--json', 'print every forecast as JSON')
    .action(async (options: { past?: string; json?: boolean }, command: Command) => {
      const [
        { readPastFolder, requirePastFolder, tellProblems },
        { calibrate },
        { table },
        { CHECK_HEADINGS, checkRows, checkSentences },
        { wrapText },
      ] = await Promise.all([
        import('../past-folder.ts'),
        import('../../plan/hindsight.ts'),
        import('../store/text-table.ts'),
        import('../../plan/check-text.ts'),
        import('../../wrap-text.ts'),
      ]);
      const { lines, problems } = readPastFolder(requirePastFolder(io, options.past, command));
      tellProblems(io, problems);
      const checked = calibrate(lines.map((line) => line.record));
      const { told, table: rows } = checked;
      if (options.json === true) {
        io.out(
          `${JSON.stringify({ schema: 'sweepbook/past-check/1', forecasts: told, cutShort: checked.cutShort, oneLine: checked.oneLine }, null, 2)}\n`,
        );
        return;
      }
      if (rows.length === 0) {
        io.out('Nothing to check: no finished job says how many cycles it took.\n');
        return;
      }
      const sentences = checkSentences(checked).flatMap((text) => wrapText(text, io.columns));
      io.out(`${[...table([...CHECK_HEADINGS], checkRows(told, rows)), '', ...sentences].join('\n')}\n`);
    });
}

function wholeNumber(text: string): number {
  if (!/^\d{1,3}$/.test(text)) throw new InvalidArgumentError('a whole number, such as 2');
  return Number(text);
}

import { resolve } from 'node:path';
import { Option } from 'commander';
import type { AddCommand } from '../program.ts';

interface CheckOptions {
  readonly job?: string;
  readonly units: 'us' | 'si';
  readonly json?: boolean;
}

export const addCheck: AddCommand = (program, io) => {
  const command = program
    .command('check')
    .description('dry run of an import: what would be read, every problem, what looks doubtful')
    .argument('<csv>', 'file of readings')
    .option('--job <folder>', 'check against this job: its lines, its units, its earlier readings')
    .addOption(
      new Option('--units <units>', 'units of bare numbers where no job is given')
        .choices(['us', 'si'])
        .default('us'),
    )
    .option('--json', 'print the result as JSON (schema sweepbook/check/1, SI units)')
    .addHelpText(
      'after',
      `
Changes nothing. Exit status 0: it can be imported as it is. 1: it has unusable rows, or readings that would not count
because the job has them already.

Example:
  sweepbook check cycle-4.csv --job juniper-girder-4
`,
    );
  command.action(async (path: string, options: CheckOptions) => {
    const [{ checkFile }, { progressBar }] = await Promise.all([
      import('../store/check-file.ts'),
      import('../progress-bar.ts'),
    ]);
    const bar = progressBar(io);
    let checked: Awaited<ReturnType<typeof checkFile>>;
    try {
      checked = await checkFile(
        resolve(io.cwd, path),
        options.job === undefined ? null : resolve(io.cwd, options.job),
        options.units,
        (bytes, size) => bar.show('reading', bytes, size),
      );
    } finally {
      bar.clear();
    }
    if (options.json === true) {
      io.out(`${JSON.stringify({ schema: 'sweepbook/check/1', ...checked }, null, 2)}\n`);
    } else {
      const { checkedText } = await import('../store/checked-text.ts');
      io.out(checkedText(checked));
    }
    const stopped = checked.doubts.some((each) => each.severity === 'stop');
    io.setExit(checked.import === 'yes' && !stopped ? 0 : 1);
  });
};

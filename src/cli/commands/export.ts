import { basename, resolve } from 'node:path';
import { Option } from 'commander';
import { TABLE_NAMES } from '../../export/table-names.ts';
import type { AddCommand } from '../program.ts';

interface ExportOptions {
  readonly table?: string;
  readonly into?: string;
  readonly json?: boolean;
}

export const addExport: AddCommand = (program, io) => {
  program
    .command('export')
    .description('deviations, movement, zones and readings as tidy CSV and JSON, units in the headings')
    .argument('<job>', 'job folder')
    .addOption(new Option('--table <name>', 'print this table as CSV instead').choices(TABLE_NAMES))
    .option('--json', 'print all tables as one JSON document instead (schema sweepbook/export/1)')
    .option('--into <folder>', 'where to write the files (default: reports/export in the job)')
    .addHelpText(
      'after',
      `
Writes one CSV a table and export.json, in the job's units, over those of an earlier export.

Example:
  sweepbook export juniper-girder-4 --table movement > movement.csv
`,
    )
    .action(async (given: string, options: ExportOptions) => {
      const [{ atHand }, { exportPapers }] = await Promise.all([
        import('../at-hand.ts'),
        import('../../papers/papers.ts'),
      ]);
      const folder = resolve(io.cwd, given);
      const papers = exportPapers(await atHand(folder)).map(({ file, text }) => ({
        name: basename(file),
        text,
      }));
      const one = (name: string) => papers.find((each) => each.name === name)!.text;
      if (options.json === true || options.table !== undefined) {
        io.out(one(options.json === true ? 'export.json' : `${options.table}.csv`));
        return;
      }
      const { writeFiles } = await import('../store/write-files.ts');
      const into =
        options.into === undefined ? resolve(folder, 'reports', 'export') : resolve(io.cwd, options.into);
      const written = writeFiles(into, papers);
      for (const path of written) io.out(`${path}\n`);
    });
};

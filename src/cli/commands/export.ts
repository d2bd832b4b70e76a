import { resolve } from 'node:path';
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
      const [{ openJob }, { analyseFolder }, { exportTables, exportDocument }, { csvText }] =
        await Promise.all([
          import('../store/open-job.ts'),
          import('../analyse-kept.ts'),
          import('../../export/tables.ts'),
          import('../../export/csv-text.ts'),
        ]);
      const folder = resolve(io.cwd, given);
      const opened = await openJob(folder);
      const analysis = await analyseFolder(opened);
      const document = () => `${JSON.stringify(exportDocument(analysis), null, 2)}\n`;
      if (options.json === true) {
        io.out(document());
        return;
      }
      const tables = exportTables(analysis);
      if (options.table !== undefined) {
        io.out(csvText(tables.find((table) => table.name === options.table)!));
        return;
      }
      const { writeFiles } = await import('../store/write-files.ts');
      const into =
        options.into === undefined ? resolve(folder, 'reports', 'export') : resolve(io.cwd, options.into);
      const written = writeFiles(into, [
        ...tables.map((table) => ({ name: `${table.name}.csv`, text: csvText(table) })),
        { name: 'export.json', text: document() },
      ]);
      for (const path of written) io.out(`${path}\n`);
    });
};

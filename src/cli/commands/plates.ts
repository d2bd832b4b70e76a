import { resolve } from 'node:path';
import type { AddCommand } from '../program.ts';

export const addPlates: AddCommand = (program, io) => {
  program
    .command('plates')
    .description('gaps under the plates of the job as left, fillers from stock, vertical clearance')
    .argument('<job>', 'job folder; its plates stand in job.json')
    .option('--json', 'print the result as JSON (schema sweepbook/plates/1, SI units)')
    .addHelpText(
      'after',
      `
In job.json: "plates": [{ "name": "cover plate", "line": "bottom-flange", "from": "24 ft", "to": "34 ft",
"thickness": "1/2 in", "side": "positive", "gapLimit": "1/16 in", "gapLimitSource": "special provision, 4.2" }]

Example:
  sweepbook plates juniper-lane-girder-4
`,
    )
    .action(async (folder: string, options: { json?: boolean }) => {
      const [{ openJob }, { analyseFolder }, { platesOfJob }, { platesText }, { platesDocument }] =
        await Promise.all([
          import('../store/open-job.ts'),
          import('../analyse-kept.ts'),
          import('../../plates/plates-of-job.ts'),
          import('../../plates/plates-text.ts'),
          import('../../plates/plates-document.ts'),
        ]);
      const opened = await openJob(resolve(io.cwd, folder));
      const fits = platesOfJob(await analyseFolder(opened));
      io.out(
        options.json === true
          ? `${JSON.stringify(platesDocument(opened.job, fits), null, 2)}\n`
          : platesText(opened.job, fits, io.columns),
      );
    });
};

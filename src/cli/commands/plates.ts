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
      const [{ atHand }, { platesPapers }] = await Promise.all([
        import('../at-hand.ts'),
        import('../../papers/papers.ts'),
      ]);
      const { text, json } = platesPapers(await atHand(resolve(io.cwd, folder)), io.columns);
      io.out(options.json === true ? json.text : text.text);
    });
};

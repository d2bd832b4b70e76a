import { resolve } from 'node:path';
import type { AddCommand } from '../program.ts';

export const addHeats: AddCommand = (program, io) => {
  program
    .command('heats')
    .description('jacking ceiling, expected and observed rotation, heats left, next vees, heat log checks')
    .argument('<job>', 'job folder; its heat log is heats.csv')
    .option('--json', 'print the result as JSON (schema sweepbook/heats/1, SI units)')
    .addHelpText(
      'after',
      `
heats.csv has a heading and a heat a row: cycle,station,pattern,angle,depth,temperature,before,pressure
and any of line,zone,height,width,apex,date,time,torch,device,weather,gas,cost,note. Units go in the headings: temperature (F).
On a panel, line is its name and zone the line or spot of its map: 3,web-2,S4,spot.

Example:
  sweepbook heats juniper-lane-girder-4
`,
    )
    .action(async (folder: string, options: { json?: boolean }) => {
      const { keptPaper } = await import('../kept-papers.ts');
      const at = resolve(io.cwd, folder);
      const json = options.json === true;
      const { text, notRead } = await keptPaper(at, ['heats', json || io.columns], async (files) => {
        const [{ atHand }, { heatsPapers }] = await Promise.all([
          import('../at-hand.ts'),
          import('../../papers/papers.ts'),
        ]);
        const job = await atHand(at, files);
        const papers = heatsPapers(job, io.columns);
        return { text: (json ? papers.json : papers.text).text, notRead: job.logs.heats.notRead };
      });
      if (notRead.length > 0)
        io.err(`note: columns of heats.csv that mean nothing here: ${notRead.join(', ')}\n`);
      io.out(text);
    });
};

import { resolve } from 'node:path';
import type { AddCommand } from '../program.ts';

export const addStatus: AddCommand = (program, io) => {
  program
    .command('status')
    .description('the answer on one screen: where it is bent, is it still moving, is it done')
    .argument('<job>', 'job folder')
    .option('--json', 'print the status document (schema sweepbook/status/1, SI units)')
    .addHelpText('after', '\nExample:\n  sweepbook status juniper-lane-girder-4\n')
    .action(async (folder: string, options: { json?: boolean }) => {
      const [{ keptPaper }, { terminalStyle }] = await Promise.all([
        import('../kept-papers.ts'),
        import('../terminal-style.ts'),
      ]);
      const at = resolve(io.cwd, folder);
      const style = terminalStyle(io);
      const json = options.json === true;
      const wish = json ? ['status --json'] : ['status', style.columns, style.paint('good', 'colour')];
      const text = await keptPaper(at, wish, async (files) => {
        const [{ atHand }, { besideLog, statusPaper }, { statusText }] = await Promise.all([
          import('../at-hand.ts'),
          import('../../papers/papers.ts'),
          import('../../status/status-text.ts'),
        ]);
        const job = await atHand(at, files);
        if (json) return statusPaper(job).text;
        const { analysis, days } = besideLog(job.analysis, job.logs);
        return statusText(analysis, style, days);
      });
      io.out(text);
    });
};

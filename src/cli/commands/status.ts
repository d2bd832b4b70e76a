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
      const [{ atHand }, { besideLog, statusPaper }] = await Promise.all([
        import('../at-hand.ts'),
        import('../../papers/papers.ts'),
      ]);
      const at = await atHand(resolve(io.cwd, folder));
      if (options.json === true) {
        io.out(statusPaper(at).text);
        return;
      }
      const { analysis, days } = besideLog(at.analysis, at.logs);
      const [{ statusText }, { terminalStyle }] = await Promise.all([
        import('../../status/status-text.ts'),
        import('../terminal-style.ts'),
      ]);
      io.out(statusText(analysis, terminalStyle(io), days));
    });
};

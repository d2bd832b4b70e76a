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
      const [{ openJob }, { analyseFolder }, { besideHeatsOf }] = await Promise.all([
        import('../store/open-job.ts'),
        import('../analyse-kept.ts'),
        import('../beside-heats.ts'),
      ]);
      const opened = await openJob(resolve(io.cwd, folder));
      const { analysis, days } = besideHeatsOf(opened.folder, await analyseFolder(opened));
      if (options.json === true) {
        const { statusDocument } = await import('../../status/status-document.ts');
        io.out(JSON.stringify(statusDocument(analysis), null, 2) + '\n');
        return;
      }
      const [{ statusText }, { terminalStyle }] = await Promise.all([
        import('../../status/status-text.ts'),
        import('../terminal-style.ts'),
      ]);
      io.out(statusText(analysis, terminalStyle(io), days));
    });
};

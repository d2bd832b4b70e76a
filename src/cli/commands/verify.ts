import { resolve } from 'node:path';
import type { AddCommand } from '../program.ts';

export const addVerify: AddCommand = (program, io) => {
  const command = program
    .command('verify')
    .description('hash every file again and follow the ledger: was anything changed or lost')
    .argument('<job>', 'job folder')
    .option('--seal <hex>', 'a seal noted earlier (reports print it): the ledger must still hold that record')
    .option('--json', 'print the result as JSON (schema sweepbook/verify/1)')
    .addHelpText(
      'after',
      `
Exit status 0: everything is as recorded. 1: something was changed, lost or cannot be read.

Example:
  sweepbook verify juniper-girder-4
`,
    );
  command.action(async (given: string, options: { seal?: string; json?: boolean }) => {
    if (options.seal !== undefined && !/^[0-9a-f]{8,64}$/i.test(options.seal)) {
      command.error(`error: option '--seal' is 8 to 64 hexadecimal digits, not '${options.seal}'`, {
        exitCode: 2,
      });
    }
    const [{ verifyJob }, { requireJobFolder }, { verificationText }] = await Promise.all([
      import('../store/verify-job.ts'),
      import('../store/read-job-file.ts'),
      import('../../folder/verification-text.ts'),
    ]);
    const folder = resolve(io.cwd, given);
    requireJobFolder(folder);
    const result = await verifyJob(folder, options.seal ?? null);
    if (options.json === true) {
      io.out(`${JSON.stringify({ schema: 'sweepbook/verify/1', ...result }, null, 2)}\n`);
    } else {
      io.out(verificationText(result));
    }
    io.setExit(result.ok ? 0 : 1);
  });
};

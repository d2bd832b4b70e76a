import { resolve } from 'node:path';
import type { AddCommand } from '../program.ts';

interface AddCommandOptions {
  readonly setAside?: boolean;
  readonly anySize?: boolean;
  readonly wait: string;
  readonly json?: boolean;
}

export const addAdd: AddCommand = (program, io) => {
  const command = program
    .command('add')
    .description('import CSV readings; the files are kept as they are and recorded in the ledger')
    .argument('<job>', 'job folder')
    .argument('<csv...>', 'files of readings; all are imported or none')
    .option('--set-aside', 'import the usable rows; record the others in the ledger, row by row')
    .option('--any-size', 'import even more readings of a line than can be answered in seconds')
    .option('--wait <seconds>', 'how long to wait while another program writes in the job', '15')
    .option('--json', 'print what was imported as JSON (schema sweepbook/add/1)')
    .addHelpText(
      'after',
      `
A file with an unusable row is refused whole, with every such row named, unless --set-aside is given.
Adding the same bytes again changes nothing and is no error (exit status 0). A sheet whose readings are all in the job
already, in whatever bytes, is kept and recorded, but is left out of every answer under a stop (exit status 1) until
\`sweepbook mark\` says with --copy or --genuine which it is.

Example:
  sweepbook add juniper-girder-4 cycle-3.csv
`,
    );
  command.action(async (given: string, paths: string[], options: AddCommandOptions) => {
    if (!/^\d{1,4}(\.\d+)?$/.test(options.wait)) {
      command.error(`error: option '--wait' is a number of seconds, not '${options.wait}'`, { exitCode: 2 });
    }
    const [{ addFiles }, { addedText }, { progressBar }] = await Promise.all([
      import('../store/add-files.ts'),
      import('../store/added-text.ts'),
      import('../progress-bar.ts'),
    ]);
    const bar = progressBar(io);
    let result: Awaited<ReturnType<typeof addFiles>>;
    try {
      result = await addFiles(
        resolve(io.cwd, given),
        paths.map((path) => resolve(io.cwd, path)),
        {
          setAside: options.setAside === true,
          anySize: options.anySize === true,
          when: () => io.now().toISOString(),
          waitMs: Number.parseFloat(options.wait) * 1000,
          onProgress: bar.show,
        },
      );
    } finally {
      bar.clear();
    }
    if (result.findings.some((each) => each.severity === 'stop')) io.setExit(1);
    if (options.json === true) {
      io.out(`${JSON.stringify({ schema: 'sweepbook/add/1', ...result }, null, 2)}\n`);
      return;
    }
    const { out, err } = addedText(result, given);
    io.out(out);
    io.err(err);
  });
};

import { relative, resolve } from 'node:path';
import type { AddCommand } from '../program.ts';

export const addCard: AddCommand = (program, io) => {
  program
    .command('card')
    .description(
      'write the crew card: jacking ceiling, temperature, next vees and cautions on one page, a panel’s heats on a second',
    )
    .argument('<job>', 'job folder')
    .option('--out <file>', 'where to write it (default: reports/crew-card.html of the job)')
    .addHelpText('after', '\nExample:\n  sweepbook card juniper-lane-girder-4 --out card.html\n')
    .action(async (folder: string, options: { out?: string }) => {
      const { writeCard } = await import('../write-card.ts');
      const path = await writeCard(
        resolve(io.cwd, folder),
        options.out,
        `Sweepbook ${program.version()}`,
        io,
      );
      io.out(`${relative(io.cwd, path) || path}\n`);
    });
};

import type { AddCommand } from '../program.ts';

export const addDemo: AddCommand = (program, io) => {
  program
    .command('demo')
    .description('the whole job on a bundled, invented sample: import day by day, status, reports')
    .argument('[sample]', 'a folder of sample-surveys', 'juniper-lane')
    .option(
      '--into <folder>',
      'where the demo job goes; must not exist (default: sweepbook-demo, -2, -3 … here)',
    )
    .addHelpText('after', '\nExample:\n  sweepbook demo saltmarsh-road --into saltmarsh-demo\n')
    .action(async (sample: string, options: { into?: string }) => {
      const { runDemo } = await import('../run-demo.ts');
      await runDemo(sample, options.into, `Sweepbook ${program.version()}`, io);
    });
};

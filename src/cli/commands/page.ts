import { existsSync, readFileSync } from 'node:fs';
import { join, relative, resolve } from 'node:path';
import { InputError } from '../../input-error.ts';
import { coreDigest } from '../core-digest.ts';
import type { Io } from '../io.ts';
import { packageRoot } from '../package-root.ts';
import type { AddCommand } from '../program.ts';
import { shellWord } from '../shell-word.ts';

interface Options {
  readonly out?: string;
  readonly app?: string;
  readonly back?: string;
  readonly json?: boolean;
}

export const addPage: AddCommand = (program, io) => {
  program
    .command('page')
    .description('write the readings page with the job inside: one HTML file to key readings in, offline')
    .argument('[job]', 'job folder (left out: a page without a job, which can start one)')
    .option(
      '--out <file>',
      'where to write it (default: readings-page.html in the reports folder of the job)',
    )
    .option(
      '--app <folder>',
      'write the installable form instead, for a web server: it then opens offline too',
    )
    .option(
      '--back <file>',
      'the other way: write a whole-job file the page handed over as the job folder, which must be new or empty',
    )
    .option('--json', 'print what was written as JSON')
    .addHelpText(
      'after',
      '\nExample:\n  sweepbook page juniper-lane-girder-4 --out girder-4.html\n  sweepbook page girder-4-from-the-tablet --back juniper-lane-whole-job.json\n',
    )
    .action(async (given: string | undefined, options: Options, command) => {
      if (options.app !== undefined) {
        if (given !== undefined || options.out !== undefined || options.back !== undefined) {
          command.error("error: option '--app <folder>' stands alone: the installable form carries no job", {
            exitCode: 2,
          });
        }
        const { copyApp } = await import('../copy-app.ts');
        const written = copyApp(join(packageRoot(), 'dist', 'readings-app'), resolve(io.cwd, options.app));
        io.out(
          options.json === true
            ? `${JSON.stringify({ app: written }, null, 2)}\n`
            : `${written.join('\n')}\n`,
        );
        return;
      }
      if (options.back !== undefined) {
        if (given === undefined || options.out !== undefined) {
          command.error(
            "error: option '--back <file>' takes a folder to write the job into, and nothing else",
            {
              exitCode: 2,
            },
          );
        }
        await writeBack(io, given!, options.back, options.json === true);
        return;
      }
      if (given === undefined && options.out === undefined) {
        command.error("error: without a job, option '--out <file>' says where the page goes", {
          exitCode: 2,
        });
      }
      const template = join(packageRoot(), 'dist', 'readings-page.html');
      if (!existsSync(template)) {
        throw new InputError(`${template} is not there; build it with "npm run build"`);
      }
      const [{ openJob }, { writtenPage }, { writeOut }] = await Promise.all([
        import('../store/open-job.ts'),
        import('../written-page.ts'),
        import('../write-page.ts'),
      ]);
      const page = readFileSync(template, 'utf8');
      const opened = given === undefined ? null : await openJob(resolve(io.cwd, given));

      const text = opened === null ? page : writtenPage(page, opened, coreDigest());
      const written = await writeOut(text, opened?.folder ?? null, options.out, io);
      if (options.json === true) {
        io.out(
          `${JSON.stringify({ page: written.path, bytes: written.bytes, job: opened?.job.name ?? null }, null, 2)}\n`,
        );
      } else {
        io.out(`${relative(io.cwd, written.path) || written.path}\n`);
      }
    });
};

async function writeBack(io: Io, given: string, file: string, json: boolean): Promise<void> {
  const [{ randomUUID }, { jobJsonSchema }, { readInputText }, { writeWholeJob }] = await Promise.all([
    import('node:crypto'),
    import('../../job/job-schema.ts'),
    import('../store/open-input.ts'),
    import('../store/write-whole-job.ts'),
  ]);
  const text = readInputText(resolve(io.cwd, file), 'whole');
  const written = await writeWholeJob(resolve(io.cwd, given), text, file, {
    schema: `${JSON.stringify(jobJsonSchema(), null, 2)}\n`,
    when: io.now().toISOString(),
    fresh: randomUUID(),
    waitMs: 15_000,
  });
  if (json) {
    io.out(`${JSON.stringify({ folder: given, ...written }, null, 2)}\n`);
    return;
  }
  io.out(`Written ${given}: ${written.files.length} files, ${written.records} ledger records.\n`);
  io.err(`Next: sweepbook verify ${shellWord(given)}, then sweepbook status ${shellWord(given)}\n`);
}

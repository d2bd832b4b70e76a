import { resolve } from 'node:path';
import { readCycle } from '../../read/cells.ts';
import type { AddCommand } from '../program.ts';
import { shellWord } from '../shell-word.ts';

interface PhotoOptions {
  readonly cycle?: string;
  readonly caption?: string;
  readonly withdraw?: string;
  readonly who?: string;
  readonly why?: string;
  readonly json?: boolean;
}

export const addPhoto: AddCommand = (program, io) => {
  const command = program
    .command('photo')
    .description('keep photographs (JPEG, PNG) with the job, on its record, for the final report')
    .argument('<job>', 'job folder')
    .argument('[pictures...]', 'picture files; they are copied byte for byte')
    .option('--cycle <n>', 'the cycle they belong to (0 as found)')
    .option('--caption <text>', 'what they show, such as "station 31 ft from below, before heating"')
    .option('--withdraw <photo>', 'take one out of the reports, with --who and --why; its file stays')
    .option('--who <name>', 'who decided')
    .option('--why <text>', 'why')
    .option('--json', 'print the result as JSON')
    .addHelpText(
      'after',
      `
A picture kept before gets the new caption. Reports carry small copies without time and place;
report --final --photo-exif prints what the camera noted of both.

Example:
  sweepbook photo juniper-girder-4 IMG_0412.jpg --cycle 0 --caption "station 31 ft, as found"
`,
    );
  const usage = (message: string): never => command.error(`error: ${message}`, { exitCode: 2 });

  command.action(async (given: string, pictures: readonly string[], options: PhotoOptions) => {
    const folder = resolve(io.cwd, given);
    const { keepPhoto, withdrawPhoto } = await import('../store/keep-photo.ts');
    const when = () => io.now().toISOString();
    if (options.withdraw !== undefined) {
      if (pictures.length > 0) usage('--withdraw takes no pictures beside it');
      const [who, why] = [options.who?.trim() ?? '', options.why?.trim() ?? ''];
      if (who === '' || why === '') usage('--withdraw needs --who and --why');
      const done = await withdrawPhoto(folder, options.withdraw, { who, why }, when, 15_000);
      io.out(
        options.json === true
          ? `${JSON.stringify({ schema: 'sweepbook/photo/1', withdrawn: done.file }, null, 2)}\n`
          : `Withdrawn: ${done.file}. The file stays where it is.\n`,
      );
      return;
    }
    if (pictures.length === 0) usage('name the picture files, or --withdraw one');
    const caption = options.caption?.trim() ?? '';
    if (caption === '') usage("option '--caption' says what the pictures show");
    const cycle = options.cycle === undefined ? null : readCycle(options.cycle);
    if (cycle !== null && !('value' in cycle))
      usage(`option '--cycle' is ${cycle.expected}, not '${options.cycle}'`);
    const said = { cycle: cycle !== null && 'value' in cycle ? cycle.value : null, caption };
    const kept = [];
    for (const picture of pictures) {
      kept.push(await keepPhoto(folder, resolve(io.cwd, picture), said, when, 15_000));
      const last = kept.at(-1)!;
      if (options.json !== true)
        io.out(
          `${last.again ? 'Caption said anew' : 'Kept'}: ${last.file} (SHA-256 ${last.sha256.slice(0, 8)}…)\n`,
        );
    }
    if (options.json === true) io.out(`${JSON.stringify({ schema: 'sweepbook/photo/1', kept }, null, 2)}\n`);
    else io.err(`Next: sweepbook report ${shellWord(given)} --final\n`);
  });
};

import { randomUUID } from 'node:crypto';
import { basename, resolve } from 'node:path';
import { Option } from 'commander';
import type { DraftOptions } from '../../job/draft-job.ts';
import type { AddCommand } from '../program.ts';
import { shellWord } from '../shell-word.ts';

interface NewOptions extends DraftOptions {
  readonly json?: boolean;
}

export const addNew: AddCommand = (program, io) => {
  const command = program
    .command('new')
    .description('start a job folder: job.json, readings/, ledger')
    .argument('<folder>', 'folder to make; it must be new or empty')
    .requiredOption(
      '--span <length>',
      'needed: bearing to bearing, such as "62 ft" or "18.9 m"; of a girder over piers all spans: "58 ft, 84 ft, 58 ft"',
    )
    .requiredOption('--flange-width <length>', 'needed: width of the damaged flange, such as "12 in"')
    .requiredOption('--flange-thickness <length>', 'needed: its thickness, such as "15/16 in"')
    .option('--name <text>', 'what the job is called (default: name of the folder)')
    .addOption(
      new Option('--units <units>', 'feet and inches, or metres and millimetres')
        .choices(['us', 'si'])
        .default('us'),
    )
    .option('--yield <stress>', 'yield stress (default: 36 ksi or 250 MPa; look it up on the plans)')
    .option(
      '--diaphragms <stations>',
      'stations with commas between, such as "15 ft, 31 ft, 47 ft", or "none"',
    )
    .option('--line <name:kind[:from..to][:+positive]>', LINE_HELP, collect, [])
    .option(
      '--template',
      'a line of every kind and a panel, filled in and with a comment; take out those that are not read',
    )
    .option('--bearings <from,to>', 'stations of the bearings (default: 0 and the span)')
    .option(
      '--positive <text>',
      'the side a positive offset means, such as "toward the shoulder"; a tilt then reads that edge high (default: by kind)',
    )
    .option('--tolerance <length>', 'limit of the deviation on every line, over the whole line')
    .option(
      '--preset <key>',
      'acceptance rules of a published specification instead; `sweepbook presets` lists them',
    )
    .option('--json', 'print what was made as JSON')
    .addHelpText('after', EXAMPLE);

  command.action(async (given: string, options: NewOptions) => {
    const [{ createJob, SCHEMA_REFERENCE }, { draftJob }, { jobJsonSchema }, { jobOfText }] =
      await Promise.all([
        import('../store/create-job.ts'),
        import('../../job/draft-job.ts'),
        import('../../job/job-schema.ts'),
        import('../store/read-job-file.ts'),
      ]);
    const folder = resolve(io.cwd, given);
    const { draft, assumed, faults } = draftJob(basename(folder), options, SCHEMA_REFERENCE);
    if (faults.length > 0)
      command.error(faults.map((fault) => `error: ${fault}`).join('\n'), { exitCode: 2 });
    const { $schema, ...rest } = draft;
    const id = randomUUID();
    const withId = { $schema, id, ...rest };
    const text = `${JSON.stringify(withId, null, 2)}\n`;
    jobOfText(folder, text, 'the job these options make');
    const schema = `${JSON.stringify(jobJsonSchema(), null, 2)}\n`;
    await createJob(folder, { job: text, schema, id }, draft.job, io.now().toISOString(), 15_000);

    if (options.json === true) {
      io.out(`${JSON.stringify({ schema: 'sweepbook/new/1', folder: given, job: withId }, null, 2)}\n`);
    } else {
      io.out(`Started ${given}: job.json, readings/, ledger.jsonl.\n`);
    }
    for (const each of assumed) io.err(`Assumed: ${each}\n`);
    io.err(`Next: sweepbook add ${shellWord(given)} <readings.csv>\n`);
  });
};

const LINE_HELP =
  'a line to measure, of kind sweep, camber, tilt, plumb or bulge, with its own ends and meaning of positive if they differ; may be given again (default: bottom-flange:sweep)';

const EXAMPLE = `
What is not given is assumed and said so; edit job.json to change or add to it.

Example:
  sweepbook new juniper-girder-4 --name "Juniper Lane over the canal, girder 4" --span "62 ft" \\
    --flange-width "12 in" --flange-thickness "15/16 in" --diaphragms "15 ft, 31 ft, 47 ft" --tolerance "1/2 in" \\
    --line "bottom-flange:sweep:0..62 ft:+toward the shoulder" --line "web-panel:bulge:29 ft..33 ft:+toward the shoulder"
`;

function collect(value: string, earlier: readonly string[]): string[] {
  return [...earlier, value];
}

import { resolve } from 'node:path';
import { Option } from 'commander';
import { closest } from '../../job/closest.ts';
import type { JobUnits } from '../../job/job.ts';
import type { Io } from '../io.ts';
import type { AddCommand } from '../program.ts';

interface PresetsOptions {
  readonly json?: boolean;
  readonly units?: JobUnits;
  readonly job?: string;
}

export const addPresets: AddCommand = (program, io) => {
  const command = program
    .command('presets')
    .description('rule sets that job.json can name: published limits, their sources and notes')
    .argument('[key]', 'one of them, in full (default: all, a line each)')
    .addOption(
      new Option('--units <units>', 'units of the limits (default: those of --job, else us)').choices([
        'us',
        'si',
      ]),
    )
    .option('--job <folder>', 'print in the units of this job')
    .option('--json', 'print them as JSON, limits in m, temperatures in °C')
    .addHelpText('after', EXAMPLE);

  command.action(async (key: string | undefined, options: PresetsOptions) => {
    const [{ PRESETS, PRESET_KEYS }, { presetDocument, presetText }] = await Promise.all([
      import('../../job/presets.ts'),
      import('../../job/preset-text.ts'),
    ]);
    const chosen = PRESETS.filter((preset) => key === undefined || preset.key === key);
    if (chosen.length === 0) {
      const near = closest(key!, PRESET_KEYS);
      command.error(
        `error: no preset "${key}"${near === null ? '' : `; did you mean "${near}"?`}\n` +
          `The keys are ${PRESET_KEYS.join(', ')}.`,
        { exitCode: 2 },
      );
    }
    if (options.json === true) {
      const document = { schema: 'sweepbook/presets/1', presets: chosen.map(presetDocument) };
      io.out(`${JSON.stringify(document, null, 2)}\n`);
      return;
    }
    const units = options.units ?? (await unitsOfJob(options.job, io));
    io.out(chosen.map((preset) => presetText(preset, key !== undefined, units)).join('\n'));
    if (key === undefined)
      io.out('\nAn agency\'s own set: { "presetFile": "rules.json" } in acceptance; see README.\n');
  });
};

async function unitsOfJob(folder: string | undefined, io: Io): Promise<JobUnits> {
  if (folder === undefined) return 'us';
  const { readJobFile } = await import('../store/read-job-file.ts');
  return readJobFile(resolve(io.cwd, folder)).units;
}

const EXAMPLE = `
The engineer picks the set in force; none is applied unasked. In job.json:
  "acceptance": [ { "preset": "straightened-form-0388" } ]
or, with the job folder:
  "acceptance": [ { "presetFile": "rules.json" } ]

Example:
  sweepbook presets straightened-form-0388 --units si
`;

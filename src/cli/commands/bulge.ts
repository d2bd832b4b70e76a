import { resolve } from 'node:path';
import type { AddCommand } from '../program.ts';

interface BulgeOptions {
  readonly job: string;
  readonly cycle: string;
  readonly setUp?: string;
  readonly units?: string;
  readonly columns?: string;
  readonly panel?: string;
  readonly corners?: string;
  readonly positive?: string;
  readonly cell?: string;
  readonly date?: string;
  readonly json?: boolean;
  readonly wait: string;
}

export const addBulge: AddCommand = (program, io) => {
  const command = program
    .command('bulge')
    .description('map how far a web or flange panel is out of flat, from a point cloud')
    .argument('<cloud>', 'PLY, LAS (1.2-1.4), LAZ, XYZ text or PTS')
    .requiredOption('--job <folder>', 'job folder')
    .requiredOption('--cycle <n>', 'cycle the scan belongs to (0 is as-found)')
    .option('--set-up <file>', 'panels of the cloud (JSON); default: scan.json in the job folder')
    .option('--units <unit>', 'unit of the coordinates: m, cm, mm, in, ft or us-ft')
    .option('--columns <names>', 'columns of a text cloud without a heading, for example x,y,z,intensity')
    .option('--panel <name>', 'only this panel of the set-up; with --corners: what to call it')
    .option('--corners <points>', 'four corners in order around the panel: "x,y,z x,y,z x,y,z x,y,z"')
    .option('--positive <x,y,z>', 'the side a bulge is positive toward')
    .option('--cell <length>', 'cell size of the map (default 25 mm)')
    .option('--date <date>', 'day of the scan, YYYY-MM-DD')
    .option('--wait <seconds>', 'how long to wait while another program writes in the job', '15')
    .option('--json', 'print the maps as JSON, SI units (schema sweepbook/bulge/1, one document a panel)')
    .addHelpText(
      'after',
      `
The reference plane rests on the panel's held edges (in a set-up: "held": ["1-2", "3-4"]; default all four).
The map goes into panels/ of the job, as JSON for the report and as a CSV grid.

Example:
  sweepbook bulge cycle-3.las --job juniper-girder-4 --cycle 3 --units m --panel "web 3" \\
    --corners "6.0,0.01,0.1 7.5,0.01,0.1 7.5,0.01,1.2 6.0,0.01,1.2" --positive 0,1,0
`,
    );
  command.action(async (cloud: string, options: BulgeOptions) => {
    const usage = (message: string): never => command.error(`error: ${message}`, { exitCode: 2 });
    if (!/^\d{1,4}$/.test(options.cycle)) usage(`option '--cycle' is a whole number, not '${options.cycle}'`);
    if (!/^\d{1,4}(\.\d+)?$/.test(options.wait))
      usage(`option '--wait' is a number of seconds, not '${options.wait}'`);
    if ((options.corners === undefined) !== (options.positive === undefined))
      usage("options '--corners' and '--positive' belong together");
    if (options.corners !== undefined && options.panel === undefined)
      usage("option '--corners' needs '--panel', a name for it");
    if (options.corners !== undefined && options.units === undefined)
      usage("option '--units' is needed: a cloud does not say its unit");
    const triple = (name: string, text: string) => {
      const parts = text.split(',').map((part) => (part.trim() === '' ? Number.NaN : Number(part)));
      if (parts.length !== 3 || !parts.every(Number.isFinite))
        usage(`option '--${name}' is made of three numbers x,y,z, not '${text}'`);
      return parts;
    };
    const given =
      options.corners === undefined
        ? null
        : {
            units: options.units,
            panels: {
              [options.panel!]: {
                corners: options.corners
                  .trim()
                  .split(/\s+/)
                  .map((text) => triple('corners', text)),
                positive: triple('positive', options.positive!),
                ...(options.cell === undefined
                  ? {}
                  : { cell: /^[\d.]+$/.test(options.cell) ? Number(options.cell) : options.cell }),
              },
            },
          };
    const { takeBulge } = await import('../scan/take-bulge.ts');
    await takeBulge(io, {
      cloud: resolve(io.cwd, cloud),
      job: resolve(io.cwd, options.job),
      given,
      setUp: options.setUp === undefined ? null : resolve(io.cwd, options.setUp),
      units: options.units ?? null,
      columns:
        options.columns
          ?.toLowerCase()
          .split(',')
          .map((name) => name.trim()) ?? null,
      panel: options.panel ?? null,
      cycle: Number(options.cycle),
      date: options.date ?? null,
      json: options.json === true,
      waitMs: Number.parseFloat(options.wait) * 1000,
    });
  });
};

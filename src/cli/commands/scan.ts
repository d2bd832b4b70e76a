import { resolve } from 'node:path';
import type { AddCommand } from '../program.ts';

interface ScanOptions {
  readonly job: string;
  readonly cycle: string;
  readonly setUp?: string;
  readonly units?: string;
  readonly columns?: string;
  readonly line?: string;
  readonly from?: string;
  readonly to?: string;
  readonly direction?: string;
  readonly across?: string;
  readonly feature?: string;
  readonly edge?: string;
  readonly spacing?: string;
  readonly slice?: string;
  readonly state: string;
  readonly date?: string;
  readonly time?: string;
  readonly temperature?: string;
  readonly alignTo?: string;
  readonly csv?: boolean;
  readonly json?: boolean;
  readonly wait: string;
}

export const addScan: AddCommand = (program, io) => {
  const command = program
    .command('scan')
    .description('take lines of the job from a point cloud and import them as a survey')
    .argument('<cloud>', 'PLY, LAS (1.2-1.4), LAZ, XYZ text or PTS')
    .requiredOption('--job <folder>', 'job folder')
    .requiredOption('--cycle <n>', 'cycle the scan belongs to (0 is as-found)')
    .option(
      '--set-up <file>',
      'where the lines lie in the cloud (JSON); default: scan.json in the job folder',
    )
    .option('--units <unit>', 'unit of the coordinates: m, cm, mm, in, ft or us-ft (a cloud does not say)')
    .option('--columns <names>', 'columns of a text cloud without a heading, for example x,y,z,intensity')
    .option(
      '--line <name>',
      'only this line of the set-up; with --from, --to and --direction: this line of the job',
    )
    .option('--from <x,y,z>', 'point on the steel at the first bearing of the line')
    .option('--to <x,y,z>', 'point on the steel at the second bearing')
    .option('--direction <x,y,z>', 'toward the positive side of the line')
    .option('--across <x,y,z>', 'tilt and plumb lines: across the flange, or up the web')
    .option('--feature <what>', 'edge or face (default: edge for sweep lines, face for others)')
    .option('--edge <side>', 'which flange edge: positive (default) or negative side')
    .option('--spacing <length>', 'station spacing (default 1 ft or 0.25 m)')
    .option(
      '--slice <length>',
      'length of steel averaged for a station (default 150 mm, at most the spacing)',
    )
    .option('--state <state>', 'released (jacks off) or restrained (jacks on)', 'released')
    .option('--date <date>', 'day of the scan, YYYY-MM-DD')
    .option('--time <time>', 'time of the scan, hh:mm')
    .option('--temperature <C>', 'steel temperature, degrees Celsius')
    .option(
      '--align-to <cloud>',
      'scan of an earlier cycle in whose coordinates the set-up is; aligned on its patches',
    )
    .option('--csv', 'print the survey as CSV and import nothing')
    .option('--wait <seconds>', 'how long to wait while another program writes in the job', '15')
    .option('--json', 'print what was taken as JSON, SI units (schema sweepbook/scan/1)')
    .addHelpText(
      'after',
      `
The two points are picked on the steel where the line's bearings are; a few centimetres off does no harm.
Coordinates are in the cloud's own axes and unit. Points on clamps, jacks, decks or growth are rejected and counted.

Scans of different cycles: name undamaged "patches" in the set-up, { "west bearing": { "at": [x, y, z], "radius": "6 in" }, … },
at least three that face different ways, and give the first scan with --align-to. Scans must already be within about
4 in of each other. A patch that does not close is named, and nothing is imported.

A set-up file holds the same for several lines (all numbers in its units; lengths may carry their own):
  { "units": "m",
    "lines": { "bottom-flange": { "from": [0.02, 0.15, 0.01], "to": [18.91, 0.16, 0.0],
                                  "direction": [0, 1, 0], "spacing": "1 ft" } } }

Example:
  sweepbook scan cycle-3.las --job juniper-girder-4 --cycle 3 --units m --line bottom-flange \\
    --from 0.02,0.15,0.01 --to 18.91,0.16,0 --direction 0,1,0
`,
    );
  command.action(async (cloud: string, options: ScanOptions) => {
    const usage = (message: string): never => command.error(`error: ${message}`, { exitCode: 2 });
    if (!/^\d{1,4}$/.test(options.cycle)) usage(`option '--cycle' is a whole number, not '${options.cycle}'`);
    if (!/^\d{1,4}(\.\d+)?$/.test(options.wait))
      usage(`option '--wait' is a number of seconds, not '${options.wait}'`);
    if (options.state !== 'released' && options.state !== 'restrained')
      usage(`option '--state' is released or restrained, not '${options.state}'`);
    const picked = [options.from, options.to, options.direction].filter((each) => each !== undefined).length;
    if (picked !== 0 && picked !== 3) usage("options '--from', '--to' and '--direction' belong together");
    if (picked === 3 && options.line === undefined)
      usage("options '--from', '--to' and '--direction' need '--line'");
    if (picked === 3 && options.units === undefined)
      usage("option '--units' is needed: a cloud does not say its unit");

    const triple = (name: string, text: string | undefined) => {
      if (text === undefined) return undefined;
      const parts = text.split(',').map((part) => (part.trim() === '' ? Number.NaN : Number(part)));
      if (parts.length !== 3 || !parts.every(Number.isFinite))
        usage(`option '--${name}' is three numbers x,y,z, not '${text}'`);
      return parts;
    };
    const plain = (text: string) => (/^[\d.]+$/.test(text) ? Number(text) : text);
    const given =
      picked === 3
        ? {
            units: options.units,
            lines: {
              [options.line!]: Object.fromEntries(
                Object.entries({
                  from: triple('from', options.from),
                  to: triple('to', options.to),
                  direction: triple('direction', options.direction),
                  across: triple('across', options.across),
                  feature: options.feature,
                  edge: options.edge,
                  spacing: options.spacing === undefined ? undefined : plain(options.spacing),
                  slice: options.slice === undefined ? undefined : plain(options.slice),
                }).filter(([, value]) => value !== undefined),
              ),
            },
          }
        : null;
    const { takeScan } = await import('../scan/take-scan.ts');
    await takeScan(io, {
      cloud: resolve(io.cwd, cloud),
      job: resolve(io.cwd, options.job),
      jobGiven: options.job,
      given,
      setUp: options.setUp === undefined ? null : resolve(io.cwd, options.setUp),
      units: options.units ?? null,
      columns:
        options.columns
          ?.toLowerCase()
          .split(',')
          .map((name) => name.trim()) ?? null,
      line: options.line ?? null,
      cycle: Number(options.cycle),
      state: options.state as 'released' | 'restrained',
      date: options.date ?? null,
      time: options.time ?? null,
      temperature: options.temperature ?? null,
      output: options.json === true ? 'json' : options.csv === true ? 'csv' : 'text',
      keep: options.csv !== true,
      alignTo: options.alignTo === undefined ? null : resolve(io.cwd, options.alignTo),
      waitMs: Number.parseFloat(options.wait) * 1000,
    });
  });
};

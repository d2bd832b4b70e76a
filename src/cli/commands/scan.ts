import { Option } from 'commander';
import type { Picks } from '../../scan/from-picks.ts';
import type { CloudUnit } from '../../scan/units.ts';
import type { Vec3 } from '../../scan/vector.ts';
import type { AddCommand } from '../program.ts';
import {
  ALIGNMENT_HELP,
  addCloudOptions,
  type CloudOptions,
  cloudRequest,
  plainLength,
  triple,
  usageOf,
} from '../scan/cloud-options.ts';

interface ScanOptions extends CloudOptions {
  readonly line?: string;
  readonly from?: string;
  readonly to?: string;
  readonly direction?: string;
  readonly across?: string;
  readonly feature?: 'edge' | 'face';
  readonly edge?: 'positive' | 'negative';
  readonly spacing?: string;
  readonly slice?: string;
  readonly state: 'released' | 'restrained';
  readonly time?: string;
  readonly temperature?: string;
  readonly csv?: boolean;
  readonly stations?: string;
  readonly positive?: 'left' | 'right';
  readonly yes?: boolean;
  readonly find?: boolean;
  readonly preview?: string | true;
}

export const addScan: AddCommand = (program, io) => {
  const command = addCloudOptions(
    program
      .command('scan')
      .description('take lines of the job from a point cloud and import them as a survey'),
    'lines',
    'print what was taken as JSON, SI units (schema sweepbook/scan/1)',
  )
    .option(
      '--line <name>',
      'only this line of the set-up; with --from and --to: this line of the job (default: the one as long)',
    )
    .option('--from <x,y,z>', 'point on the steel at the first bearing of the line')
    .option('--to <x,y,z>', 'point on the steel at the second bearing')
    .option(
      '--yes',
      'import what was found from two picks (--from and --to alone); without it they are only shown',
    )
    .option('--stations <from,to>', 'stations of the two picks where they are not at the bearings')
    .addOption(
      new Option(
        '--positive <side>',
        'which side is positive, from the first pick to the second (two picks)',
      ).choices(['left', 'right']),
    )
    .option('--find', 'only look for flanges in the cloud and list them with picks to use; needs no picks')
    .option(
      '--preview [file]',
      'write a page with plan, elevation and slices; with --find: of where the flanges are (default: into reports/)',
    )
    .option(
      '--direction <x,y,z>',
      'toward the positive side of the line; then nothing is found, all is as given',
    )
    .option('--across <x,y,z>', 'tilt and plumb lines: across the flange, or up the web')
    .addOption(
      new Option('--feature <what>', 'default: edge for sweep lines, face for others').choices([
        'edge',
        'face',
      ]),
    )
    .addOption(
      new Option('--edge <side>', 'which flange edge: positive (default) or negative side').choices([
        'positive',
        'negative',
      ]),
    )
    .option('--spacing <length>', 'station spacing (default 1 ft or 0.25 m)')
    .option(
      '--slice <length>',
      'length of steel averaged for a station (default 150 mm, at most the spacing)',
    )
    .addOption(
      new Option('--state <state>', 'released (jacks off) or restrained (jacks on)')
        .choices(['released', 'restrained'])
        .default('released'),
    )
    .option('--time <time>', 'time of the scan, hh:mm')
    .option('--temperature <C>', 'steel temperature, degrees Celsius')
    .option('--csv', 'print the survey as CSV and import nothing')
    .addHelpText(
      'after',
      `
From two clicks: --from and --to are enough, on the flange for sweep, camber and tilt lines, on the web at half its height
for plumb lines (--line NAME where several are as long). Unit, up, sides and the better seen edge are found and shown,
with --preview as a page with the fitted section drawn on the points; nothing is imported until the same command has
--yes. The set-up found is then kept as scan.json, so that later scans need no picks. No clicks at all: --find lists
what looks like the flange of the job, with picks to use, and with --preview draws where they are.

The two points are picked on the steel where the line's bearings are; a few centimetres off does no harm.
Coordinates are in the cloud's own axes and unit. Points on clamps, jacks, decks or growth are rejected and counted.

${ALIGNMENT_HELP}
What the alignment leaves uncertain is in the sd of every station.

A set-up file holds the same for several lines (all numbers in its units; lengths may carry their own):
  { "units": "m",
    "lines": { "bottom-flange": { "from": [0.02, 0.15, 0.01], "to": [18.91, 0.16, 0.0],
                                  "direction": [0, 1, 0], "spacing": "1 ft" } } }
Keys of a line: from, to, direction, stations, feature, edge, across, reach, band, spacing, slice, extent.
Beside lines: units, columns, leastSd, registration, targets, targetSd, panels (corners, positive, held, margin, reach, cell), patches
(at, radius). The README says what each means and its default; dist/scan.schema.json checks them in an editor.

Example:
  sweepbook scan as-found.las --job juniper-girder-4 --cycle 0 --from 0.02,0.15,0.01 --to 18.91,0.16,0 --preview
  sweepbook scan cycle-3.las --job juniper-girder-4 --cycle 3 --units m --line bottom-flange \\
    --from 0.02,0.15,0.01 --to 18.91,0.16,0 --direction 0,1,0
`,
    );
  const usage = usageOf(command);
  /** Options that describe one line; they mean nothing beside a set-up file. */
  const ofOneLine = ['across', 'feature', 'edge', 'spacing', 'slice'] as const;

  /** Keys of one line given by options, beside its points. */
  function keysGiven(options: ScanOptions): Record<string, unknown> {
    const written = {
      across: options.across === undefined ? undefined : triple(usage, 'across', options.across),
      feature: options.feature,
      edge: options.edge,
      spacing: plainLength(options.spacing),
      slice: plainLength(options.slice),
    };
    return Object.fromEntries(Object.entries(written).filter(([, value]) => value !== undefined));
  }

  /** The two picks a set-up is to be found from; null where it is given. */
  function picksGiven(options: ScanOptions): Picks | null {
    const { from, to, direction, positive } = options;
    const needless = (['stations', 'positive', 'yes'] as const).find((name) => options[name] !== undefined);
    if (from === undefined || to === undefined || direction !== undefined) {
      if ((from === undefined) !== (to === undefined)) usage("options '--from' and '--to' belong together");
      if (needless !== undefined)
        usage(`option '--${needless}' belongs to two picks: --from and --to without --direction`);
      return null;
    }
    if (options.alignTo !== undefined || options.targets !== undefined)
      usage(
        "options '--align-to' and '--targets' need a set-up file; find it from the first scan with two picks",
      );
    if (options.across !== undefined || options.feature !== undefined)
      usage("options '--across' and '--feature' need '--direction': from two picks they are found");
    return {
      from: triple(usage, 'from', from) as unknown as Vec3,
      to: triple(usage, 'to', to) as unknown as Vec3,
      stations: options.stations ?? null,
      units: (options.units ?? null) as CloudUnit | null,
      positive: positive ?? null,
      more: keysGiven(options),
    };
  }

  function lineGiven(options: ScanOptions): unknown {
    const { line, from, to, direction } = options;
    if (from === undefined || to === undefined || direction === undefined) {
      if (direction !== undefined) usage("option '--direction' belongs to '--from' and '--to'");
      const alone = ofOneLine.find((name) => options[name] !== undefined);
      if (from === undefined && alone !== undefined)
        usage(`option '--${alone}' belongs to '--from' and '--to'; in a set-up it stands there`);
      return null;
    }
    if (line === undefined) return usage("options '--from', '--to' and '--direction' need '--line'");
    return {
      units: options.units,
      lines: {
        [line]: {
          from: triple(usage, 'from', from),
          to: triple(usage, 'to', to),
          direction: triple(usage, 'direction', direction),
          ...keysGiven(options),
        },
      },
    };
  }

  command.action(async (cloud: string, options: ScanOptions) => {
    const { state } = options;
    if (options.csv === true && options.json === true)
      usage("options '--csv' and '--json' exclude each other");
    const picks = picksGiven(options);
    const request = cloudRequest(io, usage, cloud, options, lineGiven(options));
    if (options.find === true) {
      if (picks !== null || request.given !== null || options.csv === true)
        usage("option '--find' looks for picks: give neither picks nor what to do with them");
      const { listMembers } = await import('../scan/list-members.ts');
      await listMembers(io, {
        ...request,
        line: options.line ?? null,
        json: options.json === true,
        preview: options.preview ?? null,
        tool: `Sweepbook ${program.version()}`,
      });
      return;
    }
    const { takeScan } = await import('../scan/take-scan.ts');
    await takeScan(io, {
      ...request,
      picks,
      yes: options.yes === true,
      preview: options.preview ?? null,
      tool: `Sweepbook ${program.version()}`,
      line: options.line ?? null,
      state,
      time: options.time ?? null,
      temperature: options.temperature ?? null,
      output: options.json === true ? 'json' : options.csv === true ? 'csv' : 'text',
      keep: options.csv !== true,
    });
  });
};

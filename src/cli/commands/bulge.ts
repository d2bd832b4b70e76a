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

interface BulgeOptions extends CloudOptions {
  readonly panel?: string;
  readonly corners?: string;
  readonly positive?: string;
  readonly cell?: string;
  readonly readings?: boolean;
}

export const addBulge: AddCommand = (program, io) => {
  const command = addCloudOptions(
    program
      .command('bulge')
      .description('map how far a web or flange panel is out of flat, from a point cloud'),
    'panels',
    'print the maps as JSON, SI units (schema sweepbook/bulge/1, a list with one document a panel)',
  )
    .option('--panel <name>', 'only this panel of the set-up; with --corners: what to call it')
    .option('--corners <points>', 'four corners in order around the panel: "x,y,z x,y,z x,y,z x,y,z"')
    .option('--positive <x,y,z>', 'the side a bulge is positive toward')
    .option('--cell <length>', 'cell size of the map (default 25 mm)')
    .option(
      '--readings',
      'refuse a panel the job does not have; a map of one it has is always imported as its readings: corner 1 its near lower corner, 2 its far lower one',
    )
    .addHelpText(
      'after',
      `
The reference surface is spanned by the panel's held edges (in a set-up: "held": ["1-2", "3-4"]; default all four).
The map goes into panels/ of the job, as JSON for the report and as a CSV grid.

${ALIGNMENT_HELP}

Example:
  sweepbook bulge cycle-3.las --job juniper-girder-4 --cycle 3 --units m --panel "web 3" \\
    --corners "6.0,0.01,0.1 7.5,0.01,0.1 7.5,0.01,1.2 6.0,0.01,1.2" --positive 0,1,0
`,
    );
  const usage = usageOf(command);

  function panelGiven(options: BulgeOptions): unknown {
    const { corners, positive, panel } = options;
    if ((corners === undefined) !== (positive === undefined))
      usage("options '--corners' and '--positive' belong together");
    if (corners === undefined || positive === undefined) {
      if (options.cell !== undefined)
        usage("option '--cell' belongs to '--corners'; in a set-up it stands there");
      return null;
    }
    if (panel === undefined) return usage("option '--corners' needs '--panel', a name for it");
    const points = corners.trim().split(/\s+/);
    if (points.length !== 4) usage(`option '--corners' is four points, not ${points.length}`);
    const cell = plainLength(options.cell);
    return {
      units: options.units,
      panels: {
        [panel]: {
          corners: points.map((text) => triple(usage, 'corners', text)),
          positive: triple(usage, 'positive', positive),
          ...(cell === undefined ? {} : { cell }),
        },
      },
    };
  }

  command.action(async (cloud: string, options: BulgeOptions) => {
    const request = cloudRequest(io, usage, cloud, options, panelGiven(options));
    const { takeBulge } = await import('../scan/take-bulge.ts');
    await takeBulge(io, {
      ...request,
      panel: options.panel ?? null,
      json: options.json === true,
      readings: options.readings === true,
    });
  });
};

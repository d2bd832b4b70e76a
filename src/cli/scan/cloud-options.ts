import { resolve } from 'node:path';
import type { Command } from 'commander';
import { CLOUD_UNITS } from '../../scan/units.ts';
import type { Io } from '../io.ts';
import type { CloudRequest } from './cloud-request.ts';

/** Options of every command that reads a point cloud, as commander hands them on. */
export interface CloudOptions {
  readonly job: string;
  readonly cycle: string;
  readonly setUp?: string;
  readonly units?: string;
  readonly columns?: string;
  readonly staleBounds?: boolean;
  readonly date?: string;
  readonly alignTo?: string;
  readonly targets?: string;
  readonly json?: boolean;
  readonly wait: string;
}

/** The part of `--help` about scans of different cycles. */
export const ALIGNMENT_HELP = `Scans of different cycles: name undamaged "patches" in the set-up, { "west bearing": { "at": [x, y, z], "radius": "6 in" }, … },
at least three that face different ways, two or more each way so that they test each other, and give the first scan with
--align-to. A patch that does not close is named, and nothing is imported.
A scan that stands more than 4 in off, or in a frame of its own, needs --targets as well (or alone): a CSV name,x,y,z of 3 or
more points as this scan has them. Where they are in the set-up's coordinates stands there ("targets": { "T1": [x, y, z] }),
or beside them in columns reference_x,reference_y,reference_z. With 4 or more a wrong one is named.`;

/** @param asJson what `--json` prints */
export function addCloudOptions(command: Command, what: 'lines' | 'panels', asJson: string): Command {
  return command
    .argument('<cloud>', 'PLY, LAS (1.0-1.4), LAZ, E57, XYZ text or PTS')
    .requiredOption('--job <folder>', 'job folder')
    .requiredOption('--cycle <n>', 'cycle the scan belongs to (0 is as-found)')
    .option(
      '--set-up <file>',
      `where the ${what} lie in the cloud (JSON); default: scan.json in the job folder`,
    )
    .option('--units <unit>', 'unit of the coordinates: m, cm, mm, in, ft or us-ft (a cloud does not say)')
    .option('--columns <names>', 'columns of a text cloud without a heading, for example x,y,z,intensity')
    .option(
      '--stale-bounds',
      'LAS and LAZ: take points outside the bounds the header states (a cloud cut without minding them); they are counted',
    )
    .option('--date <date>', 'day of the scan, YYYY-MM-DD')
    .option(
      '--align-to <cloud>',
      'scan of an earlier cycle in whose coordinates the set-up is; aligned on its patches',
    )
    .option(
      '--targets <csv>',
      'points known in this scan and in the set-up (name,x,y,z), for a scan in a frame of its own',
    )
    .option('--wait <seconds>', 'how long to wait while another program writes in the job', '15')
    .option('--json', asJson);
}

/** Ends the command with exit status 2 and a message. */
export type Usage = (message: string) => never;

export function usageOf(command: Command): Usage {
  return (message) => command.error(`error: ${message}`, { exitCode: 2 });
}

/** The request the shared options make; wrong usage ends the command. `given` is a set-up made of options, or null. */
export function cloudRequest(
  io: Io,
  usage: Usage,
  cloud: string,
  options: CloudOptions,
  given: unknown,
): CloudRequest {
  if (!/^\d{1,4}$/.test(options.cycle)) usage(`option '--cycle' is a whole number, not '${options.cycle}'`);
  if (!/^\d{1,4}(\.\d+)?$/.test(options.wait))
    usage(`option '--wait' is a number of seconds, not '${options.wait}'`);
  if (options.units !== undefined && !Object.hasOwn(CLOUD_UNITS, options.units))
    usage(`option '--units' is one of ${Object.keys(CLOUD_UNITS).join(', ')}, not '${options.units}'`);
  if (/\.e57$/i.test(cloud) && options.units !== undefined && options.units !== 'm')
    usage("option '--units' is m for E57, which is in metres by its standard");
  if (given !== null && options.units === undefined)
    usage("option '--units' is needed: a cloud does not say its unit");
  if (given !== null && options.alignTo !== undefined)
    usage("option '--align-to' needs a set-up file with patches (--set-up, or scan.json in the job folder)");
  const path = (text: string | undefined) => (text === undefined ? null : resolve(io.cwd, text));
  if (given !== null && options.targets !== undefined)
    usage("option '--targets' needs a set-up file (--set-up, or scan.json in the job folder)");
  return {
    cloud: resolve(io.cwd, cloud),
    job: resolve(io.cwd, options.job),
    jobGiven: options.job,
    given,
    setUp: path(options.setUp),
    units: options.units ?? null,
    columns:
      options.columns
        ?.toLowerCase()
        .split(',')
        .map((name) => name.trim()) ?? null,
    staleBounds: options.staleBounds === true,
    cycle: Number(options.cycle),
    date: options.date ?? null,
    alignTo: path(options.alignTo),
    targets: path(options.targets),
    waitMs: Number.parseFloat(options.wait) * 1000,
  };
}

/** Three coordinates written `x,y,z`, or with spaces or semicolons as a viewer copies them. */
export function triple(usage: Usage, name: string, text: string): number[] {
  const parts = text
    .trim()
    .split(/\s*[,;]\s*|\s+/)
    .map((part) => (part === '' ? Number.NaN : Number(part)));
  if (parts.length !== 3 || !parts.every(Number.isFinite))
    usage(`option '--${name}' is made of three numbers x,y,z, not '${text}'`);
  return parts;
}

/** A length as the set-up takes it: a plain number is in the cloud's unit. */
export function plainLength(text: string | undefined): number | string | undefined {
  return text !== undefined && /^\d*\.?\d+$/.test(text) ? Number(text) : text;
}

export interface DraftOptions {
  readonly name?: string;
  readonly units: 'us' | 'si';
  readonly span: string;
  readonly flangeWidth: string;
  readonly flangeThickness: string;
  readonly yield?: string;
  readonly diaphragms?: string;
  readonly line: readonly string[];
  readonly bearings?: string;
  readonly positive?: string;
  readonly tolerance?: string;
  readonly preset?: string;
}

export interface JobDraft {
  readonly job: string;
  readonly [key: string]: unknown;
}

const KINDS = ['sweep', 'camber', 'tilt', 'plumb', 'bulge'];

/**
 * The job.json of a new job, with lengths left as they were written. Says what it had to assume, and what is wrong
 * with the options themselves (lengths are checked by the reader of job.json).
 */
export function draftJob(
  folderName: string,
  options: DraftOptions,
  schema: string,
): { readonly draft: JobDraft; readonly assumed: readonly string[]; readonly faults: readonly string[] } {
  const us = options.units === 'us';
  const assumed: string[] = [];
  const faults: string[] = [];

  const lines: Record<string, unknown> = {};
  for (const given of options.line.length > 0 ? options.line : ['bottom-flange:sweep']) {
    const match = /^(.+):([a-z]+)$/.exec(given.trim());
    if (match === null || !KINDS.includes(match[2]!)) {
      faults.push(
        `option '--line' is name:kind with kind ${KINDS.join(', ')}, such as bottom-flange:sweep, not '${given}'`,
      );
      continue;
    }
    if (Object.hasOwn(lines, match[1]!)) faults.push(`option '--line' names '${match[1]}' twice`);
    lines[match[1]!] = {
      kind: match[2],
      bearings: bearingsOf(options, us, faults),
      positive: options.positive ?? 'away from the string',
    };
  }
  if (options.line.length === 0) assumed.push('one line, bottom-flange, of kind sweep.');
  if (options.positive === undefined) assumed.push('a positive offset means away from the string.');

  const yieldStress = options.yield ?? (us ? '36 ksi' : '250 MPa');
  if (options.yield === undefined) {
    assumed.push(`yield stress ${yieldStress} (common practice, no source): look it up on the plans.`);
  }
  if (options.diaphragms === undefined) {
    assumed.push('no diaphragm stations: giving them in job.json makes the zones more certain.');
  }
  const none = options.diaphragms?.trim().toLowerCase() === 'none';
  const diaphragms = none ? [] : options.diaphragms?.split(/[,;]/).map((each) => each.trim());

  const acceptance = [
    ...(options.tolerance === undefined
      ? []
      : Object.keys(lines).map((line) => ({ line, limit: options.tolerance, over: 'whole line' }))),
    ...(options.preset === undefined ? [] : [{ preset: options.preset }]),
  ];
  if (acceptance.length === 0) {
    assumed.push(
      'no acceptance limit: without one the tool cannot say whether the member is within tolerance.',
    );
  }

  return {
    draft: {
      $schema: schema,
      job: options.name ?? folderName,
      units: options.units,
      member: {
        span: options.span,
        yieldStress,
        flangeWidth: options.flangeWidth,
        flangeThickness: options.flangeThickness,
        ...(diaphragms === undefined ? {} : { diaphragms }),
      },
      lines,
      ...(acceptance.length === 0 ? {} : { acceptance }),
    },
    assumed,
    faults,
  };
}

function bearingsOf(options: DraftOptions, us: boolean, faults: string[]): readonly string[] {
  if (options.bearings === undefined) return [us ? '0 ft' : '0 m', options.span];
  const parts = options.bearings.split(/[,;]/).map((each) => each.trim());
  if (parts.length !== 2 || parts.includes('')) {
    faults.push(
      `option '--bearings' is two stations with a comma between, such as "0 ft, 62 ft", not '${options.bearings}'`,
    );
  }
  return parts;
}

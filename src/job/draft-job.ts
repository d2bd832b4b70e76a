import { isSeveralSpans, SEVERAL_SPANS } from './several-spans.ts';

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

/** What a positive offset most often means, by kind. Common practice, no source. */
const POSITIVE: Readonly<Record<string, string>> = {
  sweep: 'away from the string',
  camber: 'up',
  tilt: 'far edge high',
  plumb: 'bottom of the web away from the plumb line',
  bulge: 'away from the straight-edge',
};
const KINDS = Object.keys(POSITIVE);

/** `name:kind`, then where they differ from the other lines `:from..to` and `:+what a positive offset means`. */
const LINE = /^([^:]+):([a-z]+)(?::([^:+]+?)\.\.([^:]+?))?(?::\+\s*([^:]+))?$/;
const LINE_FORM = `name:kind with kind ${KINDS.join(', ')}, and if they are its own its two ends and what a positive offset means, such as "web-panel:bulge:21 ft..24 ft:+toward the shoulder"`;

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
    const match = given.length > 300 ? null : LINE.exec(given.trim());
    if (match === null || !KINDS.includes(match[2]!)) {
      faults.push(`option '--line' is ${LINE_FORM}, not '${given}'`);
      continue;
    }
    const [, name, kind, from, to, positive] = match as unknown as [
      string,
      string,
      string,
      ...(string | undefined)[],
    ];
    if (Object.hasOwn(lines, name)) faults.push(`option '--line' names '${name}' twice`);
    if (kind === 'bulge' && from === undefined) {
      faults.push(
        `option '--line': ${name} is read from a straight-edge, so say where its feet stand: ${name}:bulge:21 ft..24 ft`,
      );
    }
    const meaning = positive?.trim() ?? options.positive ?? POSITIVE[kind]!;
    if (positive === undefined && options.positive === undefined) {
      assumed.push(`on ${name} a positive offset means ${meaning}.`);
    }
    if (kind === 'tilt')
      assumed.push(
        `${name} is read against the level ("baseline": "level"); the other way is "square to the web".`,
      );
    lines[name] = {
      kind,
      bearings: from === undefined ? bearingsOf(options, us, faults) : [from.trim(), to!.trim()],
      positive: meaning,
      ...(kind === 'tilt' ? { baseline: 'level' } : {}),
    };
  }
  if (options.line.length === 0) assumed.push('one line, bottom-flange, of kind sweep.');
  if (isSeveralSpans(options.span)) faults.push(`option '--span' is ${SEVERAL_SPANS}, not '${options.span}'`);

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

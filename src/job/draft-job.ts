import { formatLength } from '../units/format-length.ts';
import { parseLength } from '../units/parse-length.ts';
import { isSeveralSpans, severalSpans } from './several-spans.ts';

export interface DraftOptions {
  readonly name?: string;
  readonly units: 'us' | 'si';
  readonly span: string;
  readonly flangeWidth: string;
  readonly flangeThickness: string;
  readonly yield?: string;
  readonly diaphragms?: string;
  readonly line: readonly string[];
  /** A line of every kind and a panel, each with a comment, beside those of `line`. */
  readonly template?: boolean;
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

/** What `--positive` means on a line of this kind: a side by itself says nothing of what is high or leans. */
function positiveOf(kind: string, side: string | undefined): string {
  if (side === undefined) return POSITIVE[kind]!;
  if (kind === 'tilt' && !/\b(?:high|low|up|down)\b/i.test(side))
    return /^(?:toward|away)/i.test(side) ? `edge ${side} high` : `${side} edge high`;
  if (kind === 'plumb' && !/\b(?:top|bottom|web)\b/i.test(side)) return `bottom of the web ${side}`;
  if (kind === 'camber' && !/\b(?:up|down|upward|downward|high|low)\b/i.test(side)) return POSITIVE.camber!;
  return side;
}

/** A line of every kind as most members have it: common practice, no source. */
const TEMPLATE: readonly {
  readonly name: string;
  readonly kind: string;
  readonly comment: string;
  readonly more: Readonly<Record<string, unknown>>;
}[] = [
  {
    name: 'bottom-flange',
    kind: 'sweep',
    comment:
      'String along one edge of the bottom flange, blocks of one height at both bearings; every 2 ft or 0.5 m, every 6 in or 150 mm near the bend. Says where it is bent. Put the height of the blocks as "standoff" and the station of the blow as "impact".',
    more: { part: 'bottom-flange' },
  },
  {
    name: 'top-flange',
    kind: 'sweep',
    comment:
      'The same along the top flange, where it can be reached. Says whether the member went sideways as a whole.',
    more: { part: 'top-flange' },
  },
  {
    name: 'web-plumb',
    kind: 'plumb',
    comment:
      'Plumb line from the top of the web, offset at its bottom, one value a station. Says how far the section has swung.',
    more: {},
  },
  {
    name: 'flange-tilt',
    kind: 'tilt',
    comment:
      'Level across the bottom flange: how much one edge is higher than the other. "baseline" is "square to the web" where a square is held to the web instead.',
    more: { part: 'bottom-flange', baseline: 'level' },
  },
  {
    name: 'camber',
    kind: 'camber',
    comment:
      'Level or rod under the middle of the bottom flange. Where a string is used instead, "string" says its weight and pull, so that its sag is taken off.',
    more: { part: 'bottom-flange', string: 'none' },
  },
  {
    name: 'web-bulge',
    kind: 'bulge',
    comment:
      'Straight-edge on the web over a bulge; "bearings" are where its feet stand: move them to the bulge. A bulge read as a grid goes under "panels".',
    more: { part: 'web' },
  },
];
/** A panel as the template has it, to be moved to the bulge: common practice, no source. */
function panelOf(options: DraftOptions, us: boolean) {
  return {
    stations: feetAtMiddle(options, us),
    heights: us ? ['0 in', '36 in'] : ['0 mm', '900 mm'],
    held: ['bottom', 'top'],
    positive: positiveOf('bulge', options.positive),
    comment:
      'A bulge read as a grid: heights down, stations across, every 4 in or 100 mm, closer at the crest. Move "stations" and "heights" to the panel; "held" are the edges at flanges or stiffeners. Put the thickness of the web as "thickness".',
  };
}
/** Half the length of the straight-edge of the template, m. */
const STRAIGHT_EDGE = 0.6;

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
  const told: Told = { us: options.units === 'us', assumed: [], faults: [] };
  const { assumed, faults } = told;

  const lines = linesOf(options, told);
  if (isSeveralSpans(options.span)) {
    assumed.push(
      'the bearings stand at 0 and on from there by the spans; "bearings" in the member says otherwise, and "struck" which span was hit.',
    );
  }
  const member = memberOf(options, told);
  const acceptance = acceptanceOf(lines, options);
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
      member,
      lines,
      ...(options.template === true ? { panels: { 'web-panel': panelOf(options, told.us) } } : {}),
      ...(acceptance.length === 0 ? {} : { acceptance }),
    },
    assumed,
    faults,
  };
}

/** What is said of a draft while it is made. */
interface Told {
  readonly us: boolean;
  readonly assumed: string[];
  readonly faults: string[];
}

type DraftLines = Readonly<Record<string, Readonly<Record<string, unknown>>>>;

function linesOf(options: DraftOptions, told: Told): DraftLines {
  const lines: Record<string, Readonly<Record<string, unknown>>> = {};
  const template = options.template === true;
  const wanted = options.line.length > 0 || template ? options.line : ['bottom-flange:sweep'];
  for (const given of wanted) {
    const match = given.length > 300 ? null : LINE.exec(given.trim());
    if (match === null || !KINDS.includes(match[2]!)) {
      told.faults.push(`option '--line' is ${LINE_FORM}, not '${given}'`);
      continue;
    }
    const name = match[1]!;
    if (Object.hasOwn(lines, name)) told.faults.push(`option '--line' names '${name}' twice`);
    lines[name] = givenLine(match, options, told);
  }
  if (template) {
    for (const { name, kind, comment, more } of TEMPLATE.filter((each) => !Object.hasOwn(lines, each.name)))
      lines[name] = {
        kind,
        bearings: kind === 'bulge' ? feetAtMiddle(options, told.us) : bearingsOf(options, told),
        positive: positiveOf(kind, options.positive),
        ...more,
        comment,
      };
    told.assumed.push(
      'a line of every kind and a panel, each with a "comment": take out of job.json those that are not read, and correct the rest.',
    );
  } else if (options.line.length === 0) told.assumed.push('one line, bottom-flange, of kind sweep.');
  return lines;
}

/** A line from what `--line` says of it. */
function givenLine(match: RegExpExecArray, options: DraftOptions, told: Told) {
  const [, name, kind, from, to, positive] = match as unknown as [
    string,
    string,
    string,
    ...(string | undefined)[],
  ];
  if (kind === 'bulge' && from === undefined) {
    told.faults.push(
      `option '--line': ${name} is read from a straight-edge, so say where its feet stand: ${name}:bulge:21 ft..24 ft`,
    );
  }
  const meaning = positive?.trim() ?? positiveOf(kind, options.positive);
  if (positive === undefined && options.positive === undefined) {
    told.assumed.push(`on ${name} a positive offset means ${meaning}.`);
  }
  if (kind === 'tilt')
    told.assumed.push(
      `${name} is read against the level ("baseline": "level"); the other way is "square to the web".`,
    );
  return {
    kind,
    bearings:
      from === undefined ? bearingsOf(options, told) : [withUnitOf(to!.trim(), from.trim()), to!.trim()],
    positive: meaning,
    ...(kind === 'tilt' ? { baseline: 'level' } : {}),
  };
}

function memberOf(options: DraftOptions, { us, assumed }: Told): Readonly<Record<string, unknown>> {
  const yieldStress = options.yield ?? (us ? '36 ksi' : '250 MPa');
  if (options.yield === undefined) {
    assumed.push(`yield stress ${yieldStress} (common practice, no source): look it up on the plans.`);
  }
  if (options.diaphragms === undefined) {
    assumed.push('no diaphragm stations: giving them in job.json makes the zones more certain.');
  }
  const none = options.diaphragms?.trim().toLowerCase() === 'none';
  const diaphragms = none ? [] : options.diaphragms?.split(/[,;]/).map((each) => each.trim());
  return {
    span: options.span,
    yieldStress,
    flangeWidth: options.flangeWidth,
    flangeThickness: options.flangeThickness,
    ...(diaphragms === undefined ? {} : { diaphragms }),
  };
}

function acceptanceOf(lines: DraftLines, options: DraftOptions): readonly unknown[] {
  const { tolerance: limit, preset } = options;
  return [
    ...(limit === undefined
      ? []
      : toleranceLines(lines, options).map((line) => ({ line, limit, over: 'whole line' }))),
    ...(preset === undefined ? [] : [{ preset }]),
  ];
}

/** In `12..240 in` both ends are in inches: a bare number takes the unit of the other end. */
function withUnitOf(to: string, from: string): string {
  const unit = /^[+-]?[\d. /]+([a-z]+\.?)$/i.exec(to);
  return unit !== null && /^[+-]?[\d.]+$/.test(from) ? `${from} ${unit[1]}` : from;
}

/** A tolerance of sweep is none of a tilt: in a template it is set on the sweep lines only. */
function toleranceLines(lines: DraftLines, options: DraftOptions): string[] {
  const names = Object.keys(lines);
  if (options.template !== true) return names;
  return names.filter((name) => lines[name]!.kind === 'sweep');
}

/** Feet of a straight-edge about the middle of the span, to be moved; those of the member where the span cannot be read. */
function feetAtMiddle({ span }: DraftOptions, us: boolean): readonly string[] {
  const whole = lastBearing(span, us);
  const read = parseLength(whole, { unit: us ? 'ft' : 'm' });
  if (!read.ok) return [us ? '0 ft' : '0 m', whole];
  const text = (metres: number) => (us ? `${Math.round(metres / 0.3048)} ft` : `${metres.toFixed(1)} m`);
  return [text(read.metres / 2 - STRAIGHT_EDGE), text(read.metres / 2 + STRAIGHT_EDGE)];
}

function bearingsOf(options: DraftOptions, { us, faults }: Told): readonly string[] {
  if (options.bearings === undefined) return [us ? '0 ft' : '0 m', lastBearing(options.span, us)];
  const parts = options.bearings.split(/[,;]/).map((each) => each.trim());
  if (parts.length !== 2 || parts.includes('')) {
    faults.push(
      `option '--bearings' is two stations with a comma between, such as "0 ft, 62 ft", not '${options.bearings}'`,
    );
  }
  return parts;
}

/** The far end of the member: its span, or of several their sum. What is wrong with a span the reader of job.json says, once. */
function lastBearing(span: string, us: boolean): string {
  const unit = us ? 'ft' : 'm';
  if (!isSeveralSpans(span)) return parseLength(span, { unit }).ok ? span : `1 ${unit}`;
  const spans = severalSpans(span, unit, null);
  if ('expected' in spans) return `1 ${unit}`;
  const whole = spans.reduce((sum, each) => sum + each, 0);
  return formatLength(whole, { units: us ? 'us' : 'si', as: 'station' });
}

import { InputError, type Problem } from '../input-error.ts';
import { type ProfilePoint, readProfile } from '../read/profile-csv.ts';
import { INCH, KSI } from '../units/factors.ts';
import { claimOf } from './claim-fields.ts';
import { closest } from './closest.ts';
import { heatingOf, plateFieldsOf, restraintOf } from './heating-fields.ts';
import {
  type AcceptanceRule,
  type BaselineSpec,
  type Job,
  type JobUnits,
  type Line,
  PANEL_SIDES,
} from './job.ts';
import { type JobFile, jobFileSchema, schemaFields } from './job-schema.ts';
import { parseJsonText } from './json-text.ts';
import { runsAlongMember } from './member-extent.ts';
import { cutOutOf, pushOf } from './panel-fields.ts';
import { planOf } from './plan-fields.ts';
import { checkJob } from './plausible/check-job.ts';
import { shownName } from './practice-mark.ts';
import { type PresetFile, presetFileSchema, presetOfFile } from './preset-file.ts';
import { PRESET_KEYS, PRESETS, type Preset, type PresetReading, readPreset } from './presets.ts';
import { type PresetFacts, ruleLabel } from './rules.ts';
import { schemaProblems } from './schema-problems.ts';
import { bearingsAfter } from './several-spans.ts';

export interface ParseJobOptions {
  /** Name of the file in messages. Default `job.json`. */
  readonly file?: string;
  /** Text of a file beside job.json, or null where it does not exist. Needed for `reference` baselines only. */
  readonly readText?: (jobRelativePath: string) => string | null;
}

/** Defaults of a job, each with its reason beside it. */
const DEFAULTS = {
  /** Elastic modulus of structural steel as AISC 360 uses it. */
  elasticModulus: 29000 * KSI,
  /** Common practice, no source: less than half of a 1/16 in reading step per cycle is hard to see at all. */
  usefulGain: INCH / 32,
};

/**
 * Reads job.json: text to a job in SI with every default filled in. Pure: files it refers to come through `readText`.
 *
 * @throws InputError with every problem found: path inside the file, what was found, what was expected.
 */
export function parseJob(text: string, options: ParseJobOptions = {}): Job {
  const file = options.file ?? 'job.json';
  const raw = parseJsonText(text, file, 'a job');
  const schema = schemaFor(unitsOf(raw), dashedOf(raw));
  const parsed = schema.safeParse(raw, { reportInput: true });
  if (!parsed.success)
    throw new InputError(`${file} could not be used.`, schemaProblems(parsed.error, file, schema));

  const problems: Problem[] = [];
  const job = fillIn(parsed.data, file, options, problems);
  problems.push(...checkJob(job, file));
  if (problems.length > 0) throw new InputError(`${file} could not be used.`, problems);
  return job;
}

const schemas = new Map<string, ReturnType<typeof jobFileSchema>>();

/** Building the schema costs more than reading a job with it, so each of the six is built once. */
function schemaFor(units: JobUnits, dashed: Job['dashedLengths']): ReturnType<typeof jobFileSchema> {
  const key = `${units} ${dashed}`;
  let schema = schemas.get(key);
  if (schema === undefined) {
    schema = jobFileSchema(units, dashed);
    schemas.set(key, schema);
  }
  return schema;
}

function unitsOf(raw: unknown): JobUnits {
  return isObject(raw) && raw.units === 'si' ? 'si' : 'us';
}

function dashedOf(raw: unknown): 'eighths' | 'sixteenths' | null {
  if (!isObject(raw)) return null;
  if (raw.dashedLengths === 'feet-inches-eighths') return 'eighths';
  return raw.dashedLengths === 'feet-inches-sixteenths' ? 'sixteenths' : null;
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function fillIn(data: JobFile, file: string, options: ParseJobOptions, problems: Problem[]): Job {
  const lines = Object.entries(data.lines ?? {}).map(
    ([name, entry]): Line => ({
      name,
      kind: entry.kind,
      bearings: entry.bearings,
      positive: entry.positive,
      baseline: baselineOf(entry.baseline, data.units, `lines.${name}.baseline`, file, options, problems),
      standoff: entry.standoff ?? 0,
      readingSd: entry.readingSd ?? null,
      impact: entry.impact ?? null,
      ...(entry.part === undefined ? {} : { part: entry.part }),
      ...(entry.edge === undefined ? {} : { edge: entry.edge }),
      ...(entry.height === undefined ? {} : { height: entry.height }),
      edgeSteps: entry.edgeSteps ?? [],
      ...(entry.string === undefined
        ? {}
        : {
            string: entry.string === 'none' ? 'none' : { ...entry.string, ends: entry.string.ends ?? null },
          }),
    }),
  );
  for (const name of Object.keys(data.panels ?? {})) {
    if (lines.some((line) => line.name === name))
      problems.push({
        file,
        column: `panels.${name}`,
        found: 'the name of a line too',
        expected: 'another name',
      });
  }
  const add = (column: string, found: string, expected: string) => {
    problems.push({ file, column, found, expected });
  };
  const member: Job['member'] = {
    ...spansOf(data.member, lines, add),
    yieldStress: data.member.yieldStress,
    elasticModulus: data.member.elasticModulus ?? DEFAULTS.elasticModulus,
    flangeWidth: data.member.flangeWidth,
    flangeThickness: data.member.flangeThickness,
    webThickness: data.member.webThickness ?? null,
    depth: data.member.depth ?? null,
    steel: data.member.steel ?? null,
    ...(data.member.deck === undefined ? {} : { deck: data.member.deck }),
    ...(data.member.element === undefined ? {} : { element: data.member.element }),
    ...(data.member.webStiffeners === undefined ? {} : { webStiffeners: data.member.webStiffeners }),
    ...stiffenersOf(data.member),
    ...(data.member.yieldSource === undefined ? {} : { yieldSource: data.member.yieldSource }),
    ...diaphragmsOf(data.member.diaphragms),
  };
  lines.push(
    ...Object.entries(data.panels ?? {}).map(([name, entry]) => panelLine(name, entry, data, member, add)),
  );
  const facts: PresetFacts = { units: data.units, member, lines };
  const chosen: PresetReading[] = [];
  const heating = heatingOf(data.heating, add);
  const acceptance = (data.acceptance ?? []).flatMap((entry, i) =>
    rulesOf(entry, `acceptance[${i}]`, facts, file, options, problems, chosen).map((rule) =>
      data.decisionRule === undefined ? rule : { ...rule, decision: data.decisionRule },
    ),
  );
  const presetLimits = chosen.flatMap(({ heat }) => heat ?? []);
  return {
    ...(data.id === undefined ? {} : { id: data.id }),
    name: shownName(data.job, data.id),
    units: data.units,
    dashedLengths: dashedOf(data),
    member,
    lines,
    usefulGain: data.usefulGain ?? DEFAULTS.usefulGain,
    acceptance,
    ...(chosen.length === 0 ? {} : { presets: chosen.map(({ inForce }) => inForce) }),
    repairs: (data.repairs ?? []).map((r) => ({
      date: r.date ?? null,
      from: r.from,
      to: r.to,
      note: r.note ?? '',
    })),
    jacks: (data.jacks ?? []).map((j) => ({
      name: j.name,
      station: j.station ?? null,
      ramArea: j.ramArea,
      capacity: j.capacity ?? null,
      push: j.push ?? null,
    })),
    plates: (data.plates ?? []).map((p, i) => ({
      name: p.name,
      line: p.line,
      from: p.from,
      to: p.to,
      thickness: p.thickness,
      boltHead: p.boltHead ?? null,
      clearance: p.clearance ?? null,
      ...plateFieldsOf(p, data.units, `plates[${i}]`, add),
    })),
    restraint: restraintOf(data.restraint, data.units, lines, member, add),
    heating: presetLimits.length === 0 ? heating : { ...heating, presetLimits },
    claim: claimOf(data.claim),
    plan: planOf(data.plan),
    currency: data.currency ?? null,
    locale: data.locale ?? (data.units === 'us' ? 'en-US' : 'en-GB'),
  };
}

type MemberFile = JobFile['member'];

/** The struck span, and the bearings where there are several. */
function spansOf(
  { span: spans, bearings, struck }: MemberFile,
  lines: readonly Line[],
  add: (column: string, found: string, expected: string) => void,
): Pick<Job['member'], 'span' | 'bearings' | 'struck'> {
  const reach = struck === undefined ? {} : { struck };
  if (struck !== undefined && !(struck[1] > struck[0]))
    add('member.struck', 'two stations that do not increase', 'the struck reach, [from, to]');
  const stations = bearings ?? bearingsAfter(spans, 0);
  if (bearings !== undefined && !agrees(spans, bearings))
    add(
      'member.bearings',
      `${bearings.length} bearings`,
      'stations in increasing order, as far apart as the spans (several spans are written "58 ft, 84 ft, 58 ft")',
    );
  if (stations.length <= 2) return { span: spans[0]!, ...reach };
  const hits = [
    ...(struck === undefined ? [] : [(struck[0] + struck[1]) / 2]),
    ...lines.flatMap((line) => line.impact ?? []),
  ];
  const all = stations.slice(1).map((to, i) => ({ from: stations[i]!, to, length: to - stations[i]! }));
  const hit = all.find(({ from, to }) => hits.length > 0 && hits[0]! >= from && hits[0]! <= to);
  const along = lines.filter(runsAlongMember);
  const read = all.filter(({ from, to }) =>
    along.some(({ bearings: [a, b] }) => Math.min(b, to) - Math.max(a, from) > 0.5 * (to - from)),
  );
  const shortest = Math.min(...(read.length > 0 ? read : all).map(({ length }) => length));
  return { span: hit?.length ?? shortest, bearings: stations, ...reach };
}

/** Whether bearings stand as far apart as the spans say, to 1 %. */
function agrees(spans: readonly number[], bearings: readonly number[]): boolean {
  return (
    bearings.length === spans.length + 1 &&
    spans.every((span, i) => Math.abs(bearings[i + 1]! - bearings[i]! - span) <= 0.01 * span)
  );
}

function diaphragmsOf(
  entries: MemberFile['diaphragms'],
): Pick<Job['member'], 'diaphragms' | 'diaphragmHolds'> {
  if (entries === undefined) return { diaphragms: null };
  const all = entries.map((entry) =>
    typeof entry === 'number' ? { station: entry, holds: 'both-flanges' as const } : entry,
  );
  return {
    diaphragms: all.map(({ station }) => station),
    ...(all.every(({ holds }) => holds === 'both-flanges')
      ? {}
      : { diaphragmHolds: all.map(({ holds }) => holds) }),
  };
}

/** Where stiffeners stand, and the clear distance between them: as written, or the least between two that are. */
function stiffenersOf({
  stiffeners,
  stiffenerSpacing,
}: MemberFile): Pick<Job['member'], 'stiffeners' | 'stiffenerSpacing'> {
  const all = stiffeners?.map((entry) =>
    typeof entry === 'number' ? { station: entry, holds: 'web' as const } : entry,
  );
  const apart = (all ?? []).slice(1).map(({ station }, i) => station - all![i]!.station);
  const spacing = stiffenerSpacing ?? (apart.length > 0 ? Math.min(...apart) : undefined);
  return {
    ...(all === undefined ? {} : { stiffeners: all }),
    ...(spacing === undefined ? {} : { stiffenerSpacing: spacing }),
  };
}

/** A panel is a line of kind `bulge` whose readings have a height: whatever is done with lines is done with it. */
function panelLine(
  name: string,
  entry: NonNullable<JobFile['panels']>[string],
  data: JobFile,
  member: Job['member'],
  add: (column: string, found: string, expected: string) => void,
): Line {
  const element = entry.element ?? 'web';
  const path = `panels.${name}`;
  const jacks = (data.jacks ?? []).map((jack) => jack.name);
  const push = entry.push === undefined ? undefined : pushOf(entry.push, `${path}.push`, jacks, add);
  const cutOut =
    entry.cutOut === undefined ? null : cutOutOf(entry.cutOut, data.units, `${path}.cutOut`, add);
  return {
    name,
    kind: 'bulge',
    bearings: entry.stations,
    positive: entry.positive,
    baseline: { method: 'auto' },
    standoff: entry.standoff ?? 0,
    readingSd: entry.readingSd ?? null,
    impact: null,
    edgeSteps: [],
    panel: {
      element,
      heights: entry.heights,
      held: PANEL_SIDES.filter((side) => entry.held.includes(side)),
      thickness: entry.thickness ?? (element === 'web' ? member.webThickness : member.flangeThickness),
      ...(push === undefined ? {} : { push }),
      ...(cutOut === null ? {} : { cutOut }),
    },
  };
}

function baselineOf(
  entry: NonNullable<JobFile['lines']>[string]['baseline'],
  units: JobUnits,
  path: string,
  file: string,
  options: ParseJobOptions,
  problems: Problem[],
): BaselineSpec {
  if (entry === undefined || entry === 'auto') return { method: 'auto' };
  if (entry === 'vertical' || entry === 'level') return { method: 'absolute', against: entry };
  if (entry === 'square to the web') return { method: 'absolute', against: 'square-to-web' };
  if (entry.method === 'auto') return { method: 'auto' };
  if (entry.method === 'as-built') return { method: 'as-built', offset: entry.offset, source: entry.source };
  if (entry.method === 'bearings') return { method: 'bearings' };
  if (entry.method === 'undamaged') {
    return { method: 'undamaged', reaches: entry.reaches ?? null, degree: entry.degree ?? 1 };
  }
  return {
    method: 'reference',
    file: entry.file,
    profile: profileOf(entry.file, units, path, file, options, problems),
  };
}

function profileOf(
  path: string,
  units: JobUnits,
  column: string,
  file: string,
  options: ParseJobOptions,
  problems: Problem[],
): readonly ProfilePoint[] {
  const text = textBeside(
    path,
    `${column}.file`,
    'a CSV with columns station and offset',
    file,
    options,
    problems,
  );
  if (text === null) return [];
  try {
    return readProfile(text, path, units);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    problems.push(...error.problems);
    return [];
  }
}

/** Text of a file that job.json names, or null with the problem told. */
function textBeside(
  path: string,
  column: string,
  what: string,
  file: string,
  options: ParseJobOptions,
  problems: Problem[],
): string | null {
  if (/^(?:[/\\]|[a-z]:)|(?:^|[/\\])\.\.(?:[/\\]|$)/i.test(path)) {
    problems.push({ file, column, found: `"${path}"`, expected: 'a file inside the job folder' });
    return null;
  }
  const text = options.readText?.(path) ?? null;
  if (text === null)
    problems.push({
      file,
      column,
      found: `"${path}", which is not there`,
      expected: `${what}, in the job folder`,
    });
  return text;
}

function builtIn(key: string, column: string, file: string, problems: Problem[]): Preset | null {
  const preset = PRESETS.find((candidate) => candidate.key === key);
  if (preset !== undefined) return preset;
  const near = closest(key, PRESET_KEYS);
  problems.push({
    file,
    column,
    found: `"${key}"`,
    expected: `one of ${PRESET_KEYS.join(', ')}`,
    ...(/\.json$/i.test(key)
      ? { suggestion: 'a set in a file of its own is named by "presetFile"' }
      : near === null
        ? {}
        : { suggestion: `"${near}"?` }),
  });
  return null;
}

/** An agency's own set, read like a built-in one; null where it cannot be used, every fault told. */
function presetOfPath(
  path: string,
  column: string,
  units: JobUnits,
  file: string,
  options: ParseJobOptions,
  problems: Problem[],
): Preset | null {
  const text = textBeside(path, column, 'a rule set as JSON', file, options, problems);
  if (text === null) return null;
  const before = problems.length;
  let raw: unknown;
  try {
    raw = parseJsonText(text, path, 'a job');
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    problems.push(...error.problems);
    return null;
  }
  const schema = presetFileSchema(schemaFields(units));
  const parsed = schema.safeParse(raw, { reportInput: true });
  if (!parsed.success) {
    problems.push(...schemaProblems(parsed.error, path, schema));
    return null;
  }
  const data: PresetFile = parsed.data;
  const preset = presetOfFile(data, (at, found, expected) => {
    problems.push({ file: path, column: at, found, expected });
  });
  if (PRESET_KEYS.includes(data.key))
    problems.push({
      file: path,
      column: 'key',
      found: `"${data.key}"`,
      expected: 'a key that no built-in set has',
    });
  return problems.length > before ? null : preset;
}

function rulesOf(
  entry: NonNullable<JobFile['acceptance']>[number],
  path: string,
  facts: PresetFacts,
  file: string,
  options: ParseJobOptions,
  problems: Problem[],
  chosen: PresetReading[],
): readonly AcceptanceRule[] {
  const names = facts.lines.map((line) => line.name);
  const missing = (column: string, name: string) => {
    problems.push({ file, column, found: `"${name}"`, expected: `a line of this job (${names.join(', ')})` });
    return [];
  };
  if ('preset' in entry || 'presetFile' in entry) {
    if (entry.line !== undefined && !names.includes(entry.line)) return missing(`${path}.line`, entry.line);
    const preset =
      'preset' in entry
        ? builtIn(entry.preset, `${path}.preset`, file, problems)
        : presetOfPath(entry.presetFile, `${path}.presetFile`, facts.units, file, options, problems);
    if (preset === null) return [];
    const reading = readPreset(preset, facts);
    for (const { field, expected } of reading.needs)
      problems.push({
        file,
        column: `member.${field}`,
        found: 'nothing',
        expected: `${expected}, which preset "${preset.key}" needs (${preset.source})`,
      });
    if (reading.wrongElement !== null)
      problems.push({
        file,
        column: path,
        found: `preset "${preset.key}" on a ${facts.member.element}`,
        expected: `a ${reading.wrongElement.join(' or ')}, which is what it is written for (${preset.source})`,
      });
    // One set chosen for several lines is one set.
    if (!chosen.some(({ inForce }) => inForce.key === preset.key)) chosen.push(reading);
    return entry.line === undefined
      ? reading.rules
      : reading.rules.filter((rule) => rule.line === null || rule.line === entry.line);
  }
  const line = facts.lines.find((candidate) => candidate.name === entry.line);
  if (line === undefined) return missing(`${path}.line`, entry.line);
  if (line.panel !== undefined && (entry.at !== undefined || typeof entry.over === 'number')) {
    problems.push({
      file,
      column: path,
      found: `${entry.at === undefined ? 'a chord' : '"at": "impact"'} on the panel "${line.name}"`,
      expected: 'a limit over the whole panel: leave "over" and "at" out',
    });
    return [];
  }
  const whole = entry.over === 'whole line' || line.panel !== undefined;
  if (!whole && (entry.over === undefined) === (entry.at === undefined)) {
    problems.push({
      file,
      column: path,
      found: entry.over === undefined ? 'neither "over" nor "at"' : 'both "over" and "at"',
      expected: '"over": "whole line", "over": "20 ft" or "at": "impact"',
    });
    return [];
  }
  if (entry.at === 'impact' && line.impact === null) {
    problems.push({
      file,
      column: path,
      found: `"at": "impact" but no impact station on line "${line.name}"`,
      expected: `lines.${line.name}.impact, the station of the blow`,
    });
    return [];
  }
  if (entry.edges !== undefined && line.kind !== 'tilt') {
    problems.push({
      file,
      column: `${path}.edges`,
      found: `"${entry.edges}" on a ${line.kind} line`,
      expected: '"edges" on a rule of a tilt line only',
    });
    return [];
  }
  const over: AcceptanceRule['over'] =
    entry.at === 'impact'
      ? { kind: 'impact' }
      : whole
        ? { kind: 'whole-line' }
        : { kind: 'chord', length: entry.over as number };
  return [
    {
      line: line.name,
      kind: line.kind,
      limit: entry.limit,
      over,
      ...(line.panel === undefined ? {} : { panel: true as const }),
      ...(entry.edges === undefined ? {} : { edgesFromWeb: true }),
      label: entry.label ?? ruleLabel(line, entry.limit, over, facts.units, entry.edges !== undefined),
      source: entry.source ?? 'set by the job',
      preset: null,
    },
  ];
}

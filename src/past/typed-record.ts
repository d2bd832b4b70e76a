import type { Problem } from '../input-error.ts';
import { parseLength } from '../units/parse-length.ts';
import { parseQuantity } from '../units/parse-quantity.ts';

type Fields = Record<string, unknown>;
type Kind = 'length' | 'stress' | 'angle';

/** What a record typed in by hand may leave out, because nobody remembers: the same as writing that it is not known. */
const UNKNOWN = {
  record: {
    schema: 'sweepbook/past/2',
    beside: null,
    veeCycles: null,
    finished: null,
    largestByCycle: [],
    cycles: null,
    vees: null,
    ratio: null,
    deadCycles: null,
    days: {},
    gas: null,
    cost: null,
    crewJobs: null,
    verdicts: [],
  },
  section: { webThickness: null, depth: null, steel: null },
  damage: { line: null, kind: null, part: null, heatedCycles: null, limit: null, zones: [] },
  /** Of another line its kind must be said: a panel has no zones, and nobody could tell it from a line that was forgotten. */
  beside: { line: null, part: null, heatedCycles: null, limit: null, zones: [], largestByCycle: [] },
  zone: { strainRatio: null, station: null, vees: null, expectedVee: null },
  cost: { byKind: {} },
};

/**
 * A record as a person types it: lengths, stresses and angles may be texts with their units ("62 ft", "36 ksi", "4.5 deg"; plain
 * numbers are in SI, as in every record), and what is not known may be left out. What is wrong in other ways is left as it
 * is, for the schema to say.
 */
export function typedRecord(
  typed: unknown,
  file: string,
): { readonly record: unknown; readonly problems: readonly Problem[] } {
  const problems: Problem[] = [];
  const measure = (kind: Kind, column: string) => (value: unknown) => {
    if (typeof value === 'number' && !likely(column, value)) {
      const [such, si] = EXAMPLES[kind];
      problems.push({
        ...{ file, column, found: `${value} ${si}` },
        expected: `its unit written with it, as in "${such}": plain numbers are in ${si}`,
      });
    }
    if (typeof value !== 'string') return value;
    const read = inSi(value, kind);
    if (typeof read === 'number') return read;
    problems.push({ file, column, found: JSON.stringify(value), ...read });
    return value;
  };
  const found = (at: string) => ({
    largest: measure('length', `${at}.largest`),
    limit: measure('length', `${at}.limit`),
    zones: (zones: unknown) =>
      each(zones, (zone, i) =>
        filled(zone, UNKNOWN.zone, {
          rotation: measure('angle', `${at}.zones[${i}].rotation`),
          expectedVee: measure('angle', `${at}.zones[${i}].expectedVee`),
          station: measure('length', `${at}.zones[${i}].station`),
        }),
      ),
  });
  const byCycle = (at: string) => (cycles: unknown) =>
    each(cycles, (cycle, i) => filled(cycle, {}, { largest: measure('length', `${at}[${i}].largest`) }));
  const { beside: _beside, veeCycles: _veeCycles, ...unknown1 } = UNKNOWN.record;
  const record = filled(typed, isVersion1(typed) ? unknown1 : UNKNOWN.record, {
    spans: (spans) =>
      each(typeof spans === 'string' || typeof spans === 'number' ? [spans] : spans, (span, i) =>
        measure('length', `spans[${i}]`)(span),
      ),
    section: (section) =>
      filled(section, UNKNOWN.section, {
        ...Object.fromEntries(
          ['flangeWidth', 'flangeThickness', 'webThickness', 'depth'].map((key) => [
            key,
            measure('length', `section.${key}`),
          ]),
        ),
        yieldStress: measure('stress', 'section.yieldStress'),
      }),
    // What version 1 has no place for must not be filled in there.
    damage: (damage) =>
      filled(damage, isVersion1(typed) ? { limit: null, zones: [] } : UNKNOWN.damage, found('damage')),
    beside: (others) =>
      each(others, (other, i) =>
        filled(other, UNKNOWN.beside, {
          ...found(`beside[${i}]`),
          largestByCycle: byCycle(`beside[${i}].largestByCycle`),
        }),
      ),
    largestByCycle: byCycle('largestByCycle'),
    cost: (cost) => filled(cost, UNKNOWN.cost, {}),
  });
  return { record, problems };
}

export function isVersion1(record: unknown): boolean {
  return (
    typeof record === 'object' &&
    record !== null &&
    'schema' in record &&
    record.schema === 'sweepbook/past/1'
  );
}

/** Most (of a stress: least) that steel work of any size has, SI, by the last name of the key: beyond it another unit was meant. */
const MOST: Readonly<Record<string, number>> = {
  flangeWidth: 2,
  flangeThickness: 0.3,
  webThickness: 0.2,
  depth: 10,
  largest: 2.5,
  limit: 0.3,
  rotation: 1.6,
  expectedVee: 0.1,
};

function likely(column: string, value: number): boolean {
  const key = /[a-z]+$/i.exec(column)?.[0] ?? '';
  return key === 'yieldStress' ? value >= 5e7 : value <= (MOST[key] ?? Number.POSITIVE_INFINITY);
}

/** With what is left out filled in and the named parts turned; anything but an object stays as it is. */
function filled(
  value: unknown,
  unknown: Fields,
  parts: Readonly<Record<string, (part: unknown) => unknown>>,
): unknown {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) return value;
  const whole: Fields = { ...unknown, ...value };
  for (const [key, turn] of Object.entries(parts)) if (key in whole) whole[key] = turn(whole[key]);
  return whole;
}

function each(value: unknown, turn: (item: unknown, i: number) => unknown): unknown {
  return Array.isArray(value) ? value.map(turn) : value;
}

/** A text with its unit in SI, or what it should have been. */
function inSi(text: string, kind: Kind): number | Pick<Problem, 'expected' | 'suggestion'> {
  // A bare number in quotes could be in anything.
  if (!/[a-z'"\u00b0]/i.test(text)) {
    const [such, si] = EXAMPLES[kind];
    return { expected: `a text with its unit, such as "${such}", or a plain number in ${si}` };
  }
  if (kind === 'length') {
    const read = parseLength(text, { unit: 'm', dashed: null });
    if (read.ok) return read.metres;
    const { expected, suggestion } = read;
    return suggestion === undefined ? { expected } : { expected, suggestion };
  }
  const read = parseQuantity(text, kind, kind === 'stress' ? 'Pa' : 'rad');
  return read.ok ? read.value : { expected: read.expected };
}

const EXAMPLES: Readonly<Record<Kind, readonly [string, string]>> = {
  length: ['62 ft', 'metres'],
  stress: ['36 ksi', 'pascals'],
  angle: ['4.5 deg', 'radians'],
};

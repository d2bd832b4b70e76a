import type { Finding } from '../finding.ts';
import type { Declaration, Reading } from '../survey/survey.ts';

/** Fewer readings alike than this can be chance where a cycle, a line or the jacks differ; so can fewer different offsets. */
const LEAST_ALIKE = 5;
const LEAST_OFFSETS = 3;
/** The same, where no copy alone has enough and only several together do. */
const LEAST_TOGETHER = 8;
/** A sheet of which this share stands in another already, reading by reading, is named; it still counts. */
const NEARLY = 0.9;
const LEAST_NEARLY = 8;
/** The same between cycles, where steel that stands still gives many the same: 1 pair in 2800 by chance (see below). */
const LEAST_NEARLY_LATER = 14;
/** Readings looked at to find the step between two sheets. */
const PROBES = 5;

/** The readings one file gives for one survey. */
interface Part {
  readonly file: string;
  readonly line: string;
  readonly cycle: number;
  readonly state: Reading['state'];
  readonly source: string | null;
  readonly readings: readonly Reading[];
  /** How often each station and offset stands in it. */
  readonly counts: ReadonlyMap<string, number>;
  readonly offsets: number;
  /** The first offset at each station (and height, on a panel), in `digits`. */
  readonly at: ReadonlyMap<number | string, number>;
  /** A few of these places, along the sheet. */
  readonly probes: readonly (number | string)[];
}

/** Readings that count, and what was left out of them. */
export interface Counted {
  readonly readings: readonly Reading[];
  readonly findings: readonly Finding[];
}

/**
 * Leaves out evidence that is there twice. Two people (or one, twice) who read the same steel differ in the last digit
 * at some stations; a sheet whose every reading stands in another already is that sheet again, whatever its file, line
 * ends, units, cycle, line or jacks. It is no repeat (it would shrink u) and no cycle (it would make a stall), and stays
 * out, under a `stop`, until somebody declares it a copy, or a reading taken again that gave the very same.
 *
 * In one survey a sheet of any length counts as a copy when it equals another, from five readings on also when it is
 * part of another. Between cycles, lines and jacks off and on it takes five readings alike with three different
 * offsets among them, counted over all lines of the two sheets (eight where only several copies of one short sheet
 * together give that many). Chance: where readings are rounded to twice their sd, two of the same steel agree at a
 * station 49 times in 100 (normal scatter, by quadrature), so 1 in 37 for five, 1 in 320 for eight and 1 in 1.8 million
 * for twenty.
 * A line extracted again from the same cloud is a copy by its cloud's SHA-256, whatever the numbers.
 */
export function leaveOutCopies(
  readings: readonly Reading[],
  declarations: readonly Declaration[] = [],
): Counted {
  const said = (part: Pick<Part, 'file' | 'cycle'>) =>
    declarations.findLast(
      (each) => each.file === part.file && (each.cycle === undefined || each.cycle === part.cycle),
    );
  const findings: Finding[] = [];
  const out = new Set<Reading>();
  const kept: Part[] = [];
  const pairs = new Map<string, { readonly copy: Part; readonly of: Part }[]>();

  for (const part of partsOf(readings)) {
    const declared = said(part);
    if (declared?.action === 'copy') {
      for (const reading of part.readings) out.add(reading);
      findings.push(declaredCopy(part, declared));
      continue;
    }
    if (declared?.action === 'genuine') {
      kept.push(part);
      findings.push(declaredGenuine(part, declared));
      continue;
    }
    const again = repeatedWithin(part);
    if (again.length > 0) {
      for (const reading of again) out.add(reading);
      findings.push(twiceInOneFile(part, again.length));
    }
    const of = kept.find((other) => isCopy(part, other) || alike(part, other));
    if (of === undefined) {
      const near = nearest(part, kept);
      if (near !== null) findings.push(nearlyTwice(part, near.of, near.shifted));
      kept.push(part);
      continue;
    }
    const key = JSON.stringify([part.file, part.cycle, part.state, of.file, of.cycle, of.state]);
    pairs.set(key, [...(pairs.get(key) ?? []), { copy: part, of }]);
  }
  for (const pair of pairs.values()) {
    // Short lines of one sheet are chance one by one; together they need not be.
    const { of } = pair[0]!;
    const all = [...pairs.values()]
      .flat()
      .filter((each) => each.of.file === of.file && each.of.cycle === of.cycle);
    const sure =
      pair.some((each) => isCopy(each.copy, each.of)) ||
      enough(pair.map(({ copy }) => copy)) ||
      enough(
        all.map(({ copy }) => copy),
        LEAST_TOGETHER,
      );
    if (!sure) continue;
    for (const { copy } of pair) for (const reading of copy.readings) out.add(reading);
    findings.push(copied(pair));
  }
  return { readings: out.size === 0 ? readings : readings.filter((each) => !out.has(each)), findings };
}

/** The stops that would stand once incoming readings are in beside those there are: what they would copy, or be copied by. */
export function copiesAmong(incoming: readonly Reading[], existing: readonly Reading[]): Finding[] {
  const stops = (readings: readonly Reading[]) =>
    leaveOutCopies(readings).findings.filter((each) => each.severity === 'stop');
  const before = new Set(stops(existing).map((each) => each.message));
  return stops([...existing, ...incoming]).filter((each) => !before.has(each.message));
}

/** Earliest cycle first, jacks off before jacks on, the longest sheet of a survey first: what is compared with stays. */
function partsOf(readings: readonly Reading[]): Part[] {
  const groups = new Map<string, Reading[]>();
  let key = '';
  let last: Reading | null = null;
  for (const reading of readings) {
    if (
      last === null ||
      last.cycle !== reading.cycle ||
      last.line !== reading.line ||
      last.state !== reading.state ||
      last.file !== reading.file
    ) {
      key = JSON.stringify([reading.file, reading.line, reading.cycle, reading.state]);
    }
    last = reading;
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [reading]);
    else group.push(reading);
  }
  return [...groups.values()]
    .map((group): Part => {
      const { file, line, cycle, state, source } = group[0]!;
      const counts = new Map<string, number>();
      const offsets = new Set<number>();
      const at = new Map<number | string, number>();
      for (const reading of group) {
        const spot = spotOf(reading);
        const offset = digits(reading.offset);
        if (!at.has(spot)) at.set(spot, offset);
        const place = `${spot} ${offset}`;
        counts.set(place, (counts.get(place) ?? 0) + 1);
        offsets.add(offset);
      }
      const spots = [...at.keys()];
      const probes = Array.from(
        { length: PROBES },
        (_, n) => spots[Math.floor(((n + 0.5) / PROBES) * spots.length)]!,
      );
      return {
        ...{ file, line, cycle, state, source: source ?? null, readings: group },
        ...{ counts, offsets: offsets.size, at, probes },
      };
    })
    .sort(
      (a, b) =>
        a.cycle - b.cycle ||
        (a.state === b.state ? 0 : a.state === 'released' ? -1 : 1) ||
        (a.line === b.line ? b.readings.length - a.readings.length : 0),
    );
}

/** Where a reading was taken, as a key: its station, with the height on a panel. */
function spotOf({ station, height }: Reading): number | string {
  return height === undefined ? digits(station) : `${digits(station)} ${digits(height)}`;
}

/** A length in steps of 0.1 µm, shifted so that no fraction of an inch in use lies where rounding turns. */
function digits(metres: number): number {
  return Math.round(metres * 1e7 + 0.1);
}

function sameSurvey(a: Part, b: Part): boolean {
  return a.line === b.line && a.cycle === b.cycle && a.state === b.state;
}

/** A copy beyond doubt, by these two alone. */
function isCopy(part: Part, other: Part): boolean {
  if (part.source !== null && part.source === other.source && part.line === other.line) return true;
  if (!within(part, other)) return false;
  if (!sameSurvey(part, other)) return enough([part]);
  return part.readings.length === other.readings.length || part.readings.length >= LEAST_ALIKE;
}

/** All its readings stand in the other; too few to be sure by themselves. Of one line and one state of the jacks only. */
function alike(part: Part, other: Part): boolean {
  return part.line === other.line && part.readings.length === other.readings.length && within(part, other);
}

function enough(parts: readonly Part[], least = LEAST_ALIKE): boolean {
  const count = parts.reduce((sum, part) => sum + part.readings.length, 0);
  const offsets = new Set(parts.flatMap((part) => part.readings.map(({ offset }) => digits(offset))));
  return count >= least && offsets.size >= LEAST_OFFSETS;
}

/** True where every reading of the part stands in the other, as often. */
function within(part: Part, other: Part): boolean {
  if (part.readings.length > other.readings.length) return false;
  for (const [place, count] of part.counts) if ((other.counts.get(place) ?? 0) < count) return false;
  return true;
}

/**
 * A sheet of the same line and jacks that this one differs from in hardly a reading, or by one and the same step at
 * hardly fewer than all stations (a block or a string set anew does not do that to the last digit); null: there is none.
 */
function nearest(part: Part, kept: readonly Part[]): { readonly of: Part; readonly shifted: boolean } | null {
  if (part.offsets < LEAST_OFFSETS) return null;
  for (const of of kept) {
    if (of.line !== part.line || of.state !== part.state) continue;
    const step = stepBetween(part, of);
    if (step === null) continue;
    const later = of.cycle !== part.cycle;
    const allowed = Math.floor((1 - NEARLY) * part.at.size + 1e-9);
    let same = 0;
    let other = 0;
    for (const [station, offset] of part.at) {
      if (offset - (of.at.get(station) ?? Number.NaN) === step) same++;
      else if (++other > allowed) break;
    }
    const least = later || step !== 0 ? LEAST_NEARLY_LATER : LEAST_NEARLY;
    if (other <= allowed && same >= least) return { of, shifted: step !== 0 };
  }
  return null;
}

/** The step by which most of a few stations along two sheets differ; null: no step is shared by most. */
function stepBetween(part: Part, of: Part): number | null {
  const steps = new Map<number, number>();
  for (const station of part.probes) {
    const there = of.at.get(station);
    if (there === undefined) continue;
    const step = part.at.get(station)! - there;
    const count = (steps.get(step) ?? 0) + 1;
    if (count > PROBES / 2) return step;
    steps.set(step, count);
  }
  return null;
}

/** Readings beyond the first of each station, where every station stands there again with the very same offset. */
function repeatedWithin(part: Part): Reading[] {
  if (part.readings.length < 2 * LEAST_ALIKE || part.offsets < LEAST_OFFSETS) return [];
  // A station with two different offsets is a station read twice.
  if (part.at.size !== part.counts.size) return [];
  for (const count of part.counts.values()) if (count < 2) return [];
  const seen = new Set<number | string>();
  return part.readings.filter((reading) => {
    const again = seen.has(spotOf(reading));
    seen.add(spotOf(reading));
    return again;
  });
}

function copied(pair: readonly { readonly copy: Part; readonly of: Part }[]): Finding {
  const { copy, of } = pair[0]!;
  const lines = pair.map(({ copy: c, of: o }) => (c.line === o.line ? c.line : `${c.line} (as ${o.line})`));
  const count = pair.reduce((sum, each) => sum + each.copy.readings.length, 0);
  const cloud = pair.every(({ copy: c, of: o }) => c.source !== null && c.source === o.source);
  const what = cloud
    ? 'comes from the very cloud of'
    : `holds ${count === 1 ? 'the one reading' : `the very ${count} readings`} of`;
  return {
    severity: 'stop',
    code: 'readings-copied',
    message:
      `${named(copy)} ${what} ${named(of)}, on ${lines.join(', ')}: the same evidence a second time. It is left out, ` +
      'neither a repeat nor a cycle, until somebody says which it is with `sweepbook mark`: --copy, or --genuine if ' +
      'the steel was read again and every reading came out the same.',
    ...(pair.length === 1 ? { line: copy.line } : {}),
    cycle: copy.cycle,
    file: copy.file,
    row: copy.readings[0]!.row,
  };
}

function twiceInOneFile(part: Part, count: number): Finding {
  return {
    severity: 'stop',
    code: 'readings-copied',
    message:
      `${named(part)} holds every reading of ${part.line} more than once, to the last digit: ${count} are left out as ` +
      'copies, until somebody says with `sweepbook mark` that they were read again (--genuine).',
    ...{ line: part.line, cycle: part.cycle, file: part.file, row: part.readings[0]!.row },
  };
}

function nearlyTwice(part: Part, other: Part, shifted: boolean): Finding {
  const what = shifted
    ? `differs from ${named(other)} by one and the same step at nearly every station of ${part.line}`
    : `differs from ${named(other)} in hardly a reading of ${part.line}`;
  const then =
    part.cycle === other.cycle
      ? 'if it is that sheet with a correction, its readings count twice'
      : 'two readings of the same steel hardly come out so alike; if it is that sheet over again, a cycle is counted that nobody read';
  return {
    severity: 'caution',
    code: 'readings-nearly-copied',
    message: `${named(part)} ${what}: ${then}; \`sweepbook mark\` with --copy takes one of them out.`,
    ...{ line: part.line, cycle: part.cycle, file: part.file, row: part.readings[0]!.row },
  };
}

function declaredCopy(part: Part, said: Declaration): Finding {
  return {
    severity: 'note',
    code: 'copy-left-out',
    message: `${named(part)}, ${part.line}, is left out as a copy: ${said.who}, ${said.when.slice(0, 10)}: ${said.why}.`,
    ...{ line: part.line, cycle: part.cycle, file: part.file, row: part.readings[0]!.row },
  };
}

function declaredGenuine(part: Part, said: Declaration): Finding {
  return {
    severity: 'note',
    code: 'read-again-declared',
    message: `${named(part)}, ${part.line}, counts as a reading of its own: ${said.who}, ${said.when.slice(0, 10)}: ${said.why}.`,
    ...{ line: part.line, cycle: part.cycle, file: part.file, row: part.readings[0]!.row },
  };
}

function named(part: Part): string {
  return `${part.file}, cycle ${part.cycle}${part.state === 'restrained' ? ' with the jacks on' : ''},`.replace(
    /,$/,
    '',
  );
}

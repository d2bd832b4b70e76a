import type { Problem } from '../input-error.ts';
import { closest } from '../job/closest.ts';
import type { Job } from '../job/job.ts';
import { memberExtent, overhang } from '../job/member-extent.ts';
import { readCycle, readDate, readTime } from '../read/cells.ts';
import { readTable, type TableRow, wordOf } from '../read/csv-table.ts';
import { formatLength } from '../units/format-length.ts';
import { type Heat, type HeatLog, PATTERNS } from './heat-log.ts';

/** What a column holds, which decides the units its heading may name. */
const COLUMNS = {
  cycle: 'count',
  line: 'words',
  zone: 'words',
  station: 'station',
  height: 'length',
  pattern: 'words',
  angle: 'angle',
  depth: 'length',
  width: 'length',
  apex: 'words',
  temperature: 'temperature',
  before: 'temperature',
  date: 'words',
  time: 'words',
  pressure: 'stress',
  torch: 'words',
  device: 'words',
  weather: 'words',
  gas: 'amount',
  cost: 'amount',
  note: 'words',
} as const;
type ColumnName = keyof typeof COLUMNS;

const STEEL = { from: -60, to: 1500, expected: 'a steel temperature between -60 and 1500 °C' };

export interface HeatLogResult {
  readonly log: HeatLog;
  readonly problems: readonly Problem[];
  /** Headings that mean nothing here; their cells are not read. */
  readonly notRead: readonly string[];
}

/**
 * Reads a heat log: a CSV with a heading, `,` `;` or tab, one heat a row, columns in any order. `cycle` and
 * `pattern` are needed, and `zone` or `station` in every row; the rest may be missing or blank. Units stand in the
 * heading (`temperature_F`, `pressure (psi)`), else in the cell, else they are the job's. Never throws for what is
 * in the text: every fault is in `problems`, and a row with one gives no heat.
 */
export function readHeatLog(text: string, job: Job, file: string): HeatLogResult {
  const heats: Heat[] = [];
  const { problems, notRead, unit } = readTable<ColumnName>(text, {
    file,
    columns: COLUMNS,
    units: job.units,
    dashed: job.dashedLengths,
    needed: ['cycle', 'pattern'],
    alsoNeeded: (has) =>
      has('zone') || has('station')
        ? null
        : ['neither a zone nor a station column', 'where each heat was made: zone, station or both'],
    expected: `columns cycle, pattern, zone or station, and any of ${Object.keys(COLUMNS).slice(6).join(', ')}`,
    row: (row) => {
      const heat = readHeat(row, job, file);
      if (heat !== null) heats.push(heat);
    },
  });
  return {
    log: { heats, gasUnit: unit.gas ?? null, currency: unit.cost ?? null },
    problems,
    notRead,
  };
}

function readHeat(row: TableRow<ColumnName>, job: Job, file: string): Heat | null {
  const cycle = row.cell('cycle', readCycle);
  const pattern = row.cell('pattern', wordOf(PATTERNS, { v: 'vee' }));
  const line = row.words('line');
  if (line !== null && !job.lines.some((each) => each.name === line)) {
    const names = job.lines.map((each) => each.name);
    const near = closest(line, names);
    row.fault('line', `a line of this job (${names.join(', ')})`, near === null ? undefined : `"${near}"?`);
  }
  const station = row.number('station');
  if (station !== null && !onMember(station, job)) row.fault('station', stationsOfMember(job));
  if (row.text('station') === '' && row.text('zone') === '') row.fault('station', 'a zone or a station');
  const heat: Omit<Heat, 'cycle' | 'pattern'> = {
    line,
    zone: row.words('zone'),
    station,
    height: row.number('height'),
    angle: row.number('angle', { from: 0.02, to: 2.1, expected: 'a vee angle between 1° and 120°' }),
    depth: row.number('depth', { from: 0.005, to: 5, expected: 'a depth above zero' }),
    width: row.number('width', { from: 0.005, to: 5, expected: 'a width above zero' }),
    apex: row.words('apex'),
    temperature: row.number('temperature', STEEL),
    before: row.number('before', STEEL),
    date: row.cell('date', readDate),
    time: row.cell('time', readTime),
    pressure: row.number('pressure', {
      from: 0,
      to: 1.5e8,
      expected: 'a gauge pressure between 0 and 150 MPa',
    }),
    torch: row.words('torch'),
    device: row.words('device'),
    weather: row.words('weather'),
    gas: row.number('gas'),
    cost: row.number('cost'),
    note: row.words('note'),
    file,
    row: row.row,
  };
  return row.good() && cycle !== null && pattern !== null ? { cycle, pattern, ...heat } : null;
}

function onMember(station: number, job: Job): boolean {
  const { from, to } = memberExtent(job);
  const slack = overhang(job.member.span);
  return station >= from - slack && station <= to + slack;
}

function stationsOfMember(job: Job): string {
  const { from, to } = memberExtent(job);
  const say = (metres: number) => formatLength(metres, { units: job.units, as: 'station', fraction: 2 });
  return `a station on the member, ${say(from)} to ${say(to)}`;
}

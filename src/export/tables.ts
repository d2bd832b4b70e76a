import type { Analysis, LineAnalysis, ZoneRotation } from '../analysis.ts';
import type { JobUnits } from '../job/job.ts';
import type { Reading } from '../survey/survey.ts';
import { decimalUnit, inUnit } from '../units/format-length.ts';
import type { Cell, Table } from './table.ts';

/**
 * The results as tidy tables. Lengths in the units of the job (`ft` and `in`, or `m` and `mm`), angles in mrad, each named
 * in its column; every `u` is a standard uncertainty in the unit of the value beside it. Signs as in the analysis.
 *
 * @returns `deviations` (a station of a survey a row), `movement` (a station from one judged survey to the next),
 *   `zones` (as found), `rotations` (a zone in a survey), `zone-movement`, `readings` (every usable reading as read)
 */
export function exportTables(analysis: Analysis): Table[] {
  const { units } = analysis.job;
  const measure: Measure = {
    station: (metres) => rounded(inUnit(metres, units, 'station')),
    offset: (metres) => (metres === null ? null : rounded(inUnit(metres, units, 'offset'))),
    angle: (radians) => rounded(radians * 1000),
    s: decimalUnit(units, 'station'),
    o: decimalUnit(units, 'offset'),
  };
  return [
    deviations(analysis, measure),
    movement(analysis, measure),
    zones(analysis, measure),
    rotations(analysis, measure),
    zoneMovement(analysis, measure),
    readings(analysis, measure),
  ];
}

/** The same tables as one document; columns and units as in the tables. */
export function exportDocument(analysis: Analysis): {
  readonly schema: 'sweepbook/export/1';
  readonly job: string;
  readonly units: { readonly station: string; readonly offset: string; readonly angle: 'mrad' };
  readonly tables: Readonly<Record<string, readonly Readonly<Record<string, Cell>>[]>>;
} {
  const units: JobUnits = analysis.job.units;
  return {
    schema: 'sweepbook/export/1',
    job: analysis.job.name,
    units: { station: decimalUnit(units, 'station'), offset: decimalUnit(units, 'offset'), angle: 'mrad' },
    tables: Object.fromEntries(
      exportTables(analysis).map(({ name, columns, rows }) => [
        name,
        rows.map((row) => Object.fromEntries(columns.map((column, i) => [column, row[i]!]))),
      ]),
    ),
  };
}

interface Measure {
  readonly station: (metres: number) => Cell;
  readonly offset: (metres: number | null) => Cell;
  readonly angle: (radians: number) => Cell;
  /** Unit of stations, unit of offsets. */
  readonly s: string;
  readonly o: string;
}

/** Height of a place on a panel: a last column, where the job has a panel. */
function heightColumn(lines: readonly LineAnalysis[], unit: string): string[] {
  return lines.some(({ line }) => line.panel !== undefined) ? [`height_${unit}`] : [];
}

function heightCell(
  lines: readonly LineAnalysis[],
  offset: Measure['offset'],
  at: { readonly height?: number },
): Cell[] {
  return heightColumn(lines, '').map(() => offset(at.height ?? null));
}

function deviations({ lines }: Analysis, { station, offset, s, o }: Measure): Table {
  return {
    name: 'deviations',
    columns: [
      ...[
        'line',
        'kind',
        'cycle',
        'state',
        'date',
        `station_${s}`,
        `deviation_${o}`,
        `u_${o}`,
        `u_reading_${o}`,
      ],
      ...[`fitted_${o}`, `fitted_u_${o}`, 'readings', 'set_aside'],
      ...heightColumn(lines, o),
    ],
    rows: lines.flatMap(({ line, fit }) =>
      fit.surveys.flatMap((survey) =>
        survey.stations.map((at) => [
          ...[line.name, line.kind, survey.cycle, survey.state, survey.date, station(at.station)],
          ...[offset(at.deviation), offset(at.u), offset(at.uReading), offset(at.fitted), offset(at.fittedU)],
          ...[at.count, at.setAside],
          ...heightCell(lines, offset, at),
        ]),
      ),
    ),
  };
}

function movement({ lines }: Analysis, { station, offset, s, o }: Measure): Table {
  return {
    name: 'movement',
    columns: [
      ...['line', 'from_cycle', 'to_cycle', `station_${s}`, `movement_${o}`, `u_${o}`],
      ...heightColumn(lines, o),
    ],
    rows: lines.flatMap(({ line, movements }) =>
      movements.flatMap(({ fromCycle, toCycle, stations }) =>
        stations.map((at) => [
          line.name,
          fromCycle,
          toCycle,
          station(at.station),
          offset(at.movement),
          offset(at.u),
          ...heightCell(lines, offset, at),
        ]),
      ),
    ),
  };
}

function zones({ lines }: Analysis, { station, angle, s }: Measure): Table {
  return {
    name: 'zones',
    columns: [
      ...[
        'line',
        'zone',
        'class',
        `from_${s}`,
        `to_${s}`,
        `from_u_${s}`,
        `to_u_${s}`,
        'rotation_mrad',
        'rotation_u_mrad',
      ],
      ...[
        `radius_${s}`,
        'strain_ratio_mean',
        'strain_ratio_peak',
        'strain_ratio_peak_u',
        'strain_ratio_is_lower_bound',
      ],
    ],
    rows: lines.flatMap(({ line, fit }) =>
      fit.zones.map((zone) => [
        ...[
          line.name,
          zone.zone,
          zone.class,
          station(zone.from),
          station(zone.to),
          station(zone.fromU),
          station(zone.toU),
        ],
        ...[angle(zone.rotation), angle(zone.rotationU), station(zone.radius)],
        ...[zone.strainRatio.mean, zone.strainRatio.peak, zone.strainRatio.peakU].map(rounded),
        zone.strainRatio.lowerBound,
      ]),
    ),
  };
}

function rotations({ lines }: Analysis, { angle }: Measure): Table {
  return {
    name: 'rotations',
    columns: ['line', 'cycle', 'state', 'zone', 'rotation_mrad', 'u_mrad'],
    rows: lines.flatMap(({ line, fit }) =>
      fit.surveys.flatMap((survey) =>
        survey.zones.map((zone) => [line.name, survey.cycle, survey.state, ...zoneCells(zone, angle)]),
      ),
    ),
  };
}

function zoneMovement({ lines }: Analysis, { angle }: Measure): Table {
  return {
    name: 'zone-movement',
    columns: ['line', 'from_cycle', 'to_cycle', 'zone', 'rotation_change_mrad', 'u_mrad'],
    rows: lines.flatMap(({ line, movements }) =>
      movements.flatMap(({ fromCycle, toCycle, zones: moved }) =>
        moved.map((zone) => [line.name, fromCycle, toCycle, ...zoneCells(zone, angle)]),
      ),
    ),
  };
}

function zoneCells(zone: ZoneRotation, angle: Measure['angle']): Cell[] {
  return [zone.zone, angle(zone.rotation), angle(zone.u)];
}

function readings(analysis: Analysis, { station, offset, s, o }: Measure): Table {
  const reasons = setAsideReasons(analysis.lines);
  return {
    name: 'readings',
    columns: [
      ...[
        'file',
        'row',
        'line',
        'cycle',
        'state',
        'date',
        'time',
        'temperature_C',
        `station_${s}`,
        `offset_${o}`,
      ],
      ...[`sd_${o}`, 'set_aside', 'set_aside_reason', 'note'],
      ...heightColumn(analysis.lines, o),
    ],
    rows: analysis.readings.map((each) => {
      const reason = reasons.get(readingKey(each)) ?? null;
      return [
        ...[each.file, each.row, each.line, each.cycle, each.state, each.date, each.time],
        ...[
          each.temperature === null ? null : rounded(each.temperature),
          station(each.station),
          offset(each.offset),
        ],
        ...[offset(each.sd), reason !== null, reason, each.note],
        ...heightCell(analysis.lines, offset, each),
      ];
    }),
  };
}

function setAsideReasons(lines: readonly LineAnalysis[]): Map<string, string> {
  const reasons = new Map<string, string>();
  for (const { line, fit } of lines) {
    for (const { cycle, setAside } of fit.surveys) {
      for (const { file, row, station, reason } of setAside) {
        reasons.set(readingKey({ file, row, cycle, station, line: line.name }), reason);
      }
    }
  }
  return reasons;
}

/** A row of a field sheet holds a reading a cycle, a row of a grid one a station. */
function readingKey(reading: Pick<Reading, 'file' | 'row' | 'cycle' | 'line' | 'station'>): string {
  const { file, row, cycle, line, station } = reading;
  return `${file}\n${row}\n${cycle}\n${line}\n${station.toFixed(4)}`;
}

/** Nine significant digits: far below any reading, and no 0.30000000000000004. Nothing where there is no number. */
function rounded(value: number): number | null {
  return Number.isFinite(value) ? Number(value.toPrecision(9)) + 0 : null;
}

import type { ReadingState } from '../survey/survey.ts';
import { shown } from './problem-list.ts';
import { factReader, type RowReader, type RowTools } from './row-reader.ts';

/** What the rows above the readings said, by column. */
interface SheetFacts {
  readonly date: Map<number, string | null>;
  readonly time: Map<number, string | null>;
  readonly temperature: Map<number, number | null>;
  readonly state: Map<number, ReadingState>;
}

/**
 * Rows of a field sheet: a station and its offsets, a column a cycle. `date`, `time`, `temperature` and `state` can stand
 * in the station column above the readings: one value a cycle.
 */
export function fieldSheetRows({ options, cells: read, problem, deliver }: RowTools): RowReader {
  const { lengthCell, stationCell, lineCell, heightCell, onLine, sdCell, noteCell } = read;
  const { file } = options;
  const sheet: SheetFacts = { date: new Map(), time: new Map(), temperature: new Map(), state: new Map() };
  return (form, cells, row) => {
    const label = (cells[form.at.station!] ?? '').trim().toLowerCase();
    const factOf = factReader(label, read, form.temperatureUnit);
    if (factOf !== null) {
      for (const column of form.cycles) {
        const text = cells[column.at] ?? '';
        if (text.trim() === '') continue;
        const cell = factOf(text);
        if ('value' in cell)
          (sheet[label as keyof SheetFacts] as Map<number, unknown>).set(column.at, cell.value);
        else problem(row, column.heading, shown(text), cell.expected, cell.suggestion);
      }
      return;
    }
    const line = lineCell(form, cells, row);
    const station = stationCell(form, cells, row);
    const placed = onLine(line, station, form, row, cells[form.at.station!]);
    const sd = sdCell(form, cells, row);
    const note = noteCell(form, cells);
    const height = heightCell(line, form, cells, row);
    for (const column of form.cycles) {
      const text = cells[column.at] ?? '';
      if (text.trim() === '') continue;
      const offset = lengthCell(text, column.unit, false, row, column.heading);
      if (!placed || offset === null || sd === undefined || height === undefined) continue;
      deliver({
        cycle: column.cycle,
        line: line!,
        station: station!,
        ...(height === null ? {} : { height }),
        offset,
        state: sheet.state.get(column.at) ?? column.state,
        sd,
        temperature: sheet.temperature.get(column.at) ?? null,
        date: sheet.date.get(column.at) ?? null,
        time: sheet.time.get(column.at) ?? null,
        note,
        file,
        row,
      });
    }
  };
}

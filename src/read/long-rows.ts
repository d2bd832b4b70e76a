import type { ReadingState } from '../survey/survey.ts';
import { readCycle, readDate, readState, readTime } from './cells.ts';
import { shown } from './problem-list.ts';
import { remembered } from './remembered.ts';
import type { RowReader, RowTools } from './row-reader.ts';

/** Rows of the long form: one reading each. */
export function longRows({ options, cells: read, problem, deliver }: RowTools): RowReader {
  const { lengthCell, stationCell, lineCell, heightCell, onLine, optional, temperatureOf, sdCell, noteCell } =
    read;
  const { file } = options;
  // Rows of one survey repeat these cells; reading them again and again is a fifth of the time of a large file.
  const cycleOf = remembered(readCycle);
  const stateOf = remembered(readState);
  const dateOf = remembered(readDate);
  const timeOf = remembered(readTime);
  return (form, cells, row) => {
    const cycleText = cells[form.at.cycle!] ?? '';
    const cycle = cycleOf(cycleText);
    if (!('value' in cycle))
      problem(row, form.headings[form.at.cycle!]!, shown(cycleText), cycle.expected, cycle.suggestion);
    const line = lineCell(form, cells, row);
    const station = stationCell(form, cells, row);
    const offset = lengthCell(
      cells[form.at.offset!] ?? '',
      form.offsetUnit,
      false,
      row,
      form.headings[form.at.offset!]!,
    );
    const state = optional(form, cells, 'state', row, stateOf, 'released' as ReadingState);
    const date = optional(form, cells, 'date', row, dateOf, null);
    const time = optional(form, cells, 'time', row, timeOf, null);
    const temperature = optional(
      form,
      cells,
      'temperature',
      row,
      (text) => temperatureOf(text, form.temperatureUnit),
      null,
    );
    const sd = sdCell(form, cells, row);
    const placed = onLine(line, station, form, row, cells[form.at.station!]);
    const height = heightCell(line, form, cells, row);
    if (height === undefined) return;
    if (!('value' in cycle) || !placed || offset === null) return;
    if (
      state === undefined ||
      date === undefined ||
      time === undefined ||
      temperature === undefined ||
      sd === undefined
    )
      return;
    deliver({
      cycle: cycle.value,
      line: line!,
      station: station!,
      ...(height === null ? {} : { height }),
      offset,
      state,
      sd,
      temperature,
      date,
      time,
      note: noteCell(form, cells),
      file,
      row,
    });
  };
}

import type { ReadingState } from '../survey/survey.ts';
import { type Cell, readCycle } from './cells.ts';
import { readHeading } from './headings.ts';
import { shown } from './problem-list.ts';
import type { ReadOptions } from './read-options.ts';
import { FACT_LABELS, factReader, type RowReader, type RowTools } from './row-reader.ts';

/** What the rows above the offsets of a grid said. */
interface GridFacts {
  readonly cycle?: number;
  readonly panel?: string;
  readonly date?: string | null;
  readonly time?: string | null;
  readonly temperature?: number | null;
  readonly state?: ReadingState;
}

const FACTS: readonly string[] = ['cycle', 'panel', 'line', ...FACT_LABELS];

/** Whether a row says one thing of a grid, as `cycle,3` does, and is no heading of columns. */
export function isFact(cells: readonly string[]): boolean {
  const [label, ...rest] = cells.filter((cell) => cell.trim() !== '');
  return (
    label === cells[0] &&
    rest.length === 1 &&
    FACTS.includes(label!.trim().toLowerCase()) &&
    readHeading(rest[0]!).kind === 'unknown'
  );
}

/**
 * Rows of a grid: a height and its offsets. Rows of words above them say what they are of: `cycle`, `panel` (or `line`),
 * `date`, `time`, `temperature`, `state`, each with one value in a cell beside it; a new `cycle` starts the next survey.
 */
export function gridRows({ options, cells: read, problem, deliver }: RowTools): RowReader {
  const { lengthCell, onPanel, onLine } = read;
  const { file } = options;
  let grid: GridFacts = {};

  function panelCell(text: string): Cell<string> {
    const name = text.trim();
    const panels = options.lines?.filter((line) => line.heights !== undefined);
    if (panels === undefined || panels.some((panel) => panel.name === name)) return { value: name };
    return { expected: `a panel of this job (${panels.map((panel) => panel.name).join(', ')})` };
  }

  return (form, cells, row) => {
    const label = (cells[0] ?? '').trim().toLowerCase();
    const factOf =
      label === 'cycle'
        ? readCycle
        : label === 'panel' || label === 'line'
          ? panelCell
          : factReader(label, read, form.temperatureUnit);
    if (factOf !== null) {
      const text = cells.find((cell, i) => i > 0 && cell.trim() !== '');
      if (text === undefined) return;
      const cell: Cell<unknown> = factOf(text);
      // What was said of one cycle is not said of the next.
      if (label === 'cycle') grid = grid.panel === undefined ? {} : { panel: grid.panel };
      if ('value' in cell) grid = { ...grid, [label === 'line' ? 'panel' : label]: cell.value };
      else problem(row, label, shown(text), cell.expected, cell.suggestion);
      return;
    }
    if (grid.cycle === undefined) {
      problem(row, null, 'offsets before a row that says the cycle', 'a row such as "cycle, 3" before them');
      return;
    }
    const panel = grid.panel ?? onlyPanel(options);
    if (panel === null) {
      problem(
        row,
        null,
        'offsets before a row that says the panel',
        'a row such as "panel, web-3" before them',
      );
      return;
    }
    const height = lengthCell(cells[0] ?? '', form.heightUnit, false, row, form.headings[0]!);
    if (height === null || !onPanel(panel, height, row, form.headings[0]!)) return;
    for (const column of form.across) {
      const text = cells[column.at] ?? '';
      if (text.trim() === '') continue;
      if (!onLine(panel, column.station, { ...form, at: { station: column.at } }, row)) continue;
      const offset = lengthCell(text, form.offsetUnit, false, row, column.heading);
      if (offset === null) continue;
      deliver({
        cycle: grid.cycle,
        line: panel,
        station: column.station,
        height,
        offset,
        state: grid.state ?? 'released',
        sd: null,
        temperature: grid.temperature ?? null,
        date: grid.date ?? null,
        time: grid.time ?? null,
        note: null,
        file,
        row,
      });
    }
  };
}

/** The panel every row belongs to, where the sheet need not say. */
function onlyPanel({ line, lines }: ReadOptions): string | null {
  if (line !== undefined) return line;
  const panels = lines?.filter((each) => each.heights !== undefined) ?? [];
  return panels.length === 1 ? panels[0]!.name : null;
}

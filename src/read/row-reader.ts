import type { Reading, ReadingState } from '../survey/survey.ts';
import { type Cell, readDate, readState, readTime } from './cells.ts';
import type { AddProblem } from './problem-list.ts';
import type { ReadOptions } from './read-options.ts';
import type { rowCells } from './row-cells.ts';
import type { Layout } from './sheet-layout.ts';

/** Reads one row under the heading: its readings are delivered, its faults reported. */
export type RowReader = (form: Layout, cells: readonly string[], row: number) => void;

/** What the readers of rows work with. */
export interface RowTools {
  readonly options: ReadOptions;
  readonly cells: ReturnType<typeof rowCells>;
  readonly problem: AddProblem;
  readonly deliver: (reading: Reading) => void;
}

/** What words above the readings of a sheet say of all of them. */
interface Facts {
  readonly date: string | null;
  readonly time: string | null;
  readonly temperature: number | null;
  readonly state: ReadingState;
}

/** First cells of such rows. */
export const FACT_LABELS = ['date', 'time', 'state', 'temperature'] as const;

/** What one such row says; null where its first cell is no such word. */
export function factReader(
  label: string,
  { temperatureOf }: RowTools['cells'],
  temperatureUnit: string,
): ((text: string) => Cell<Facts[keyof Facts]>) | null {
  switch (label) {
    case 'date':
      return readDate;
    case 'time':
      return readTime;
    case 'state':
      return readState;
    case 'temperature':
      return (text) => temperatureOf(text, temperatureUnit);
    default:
      return null;
  }
}

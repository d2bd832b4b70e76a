/** A cell: text, a finite number, yes or no; null where there is nothing to say. */
export type Cell = string | number | boolean | null;

/** A tidy table: one observation a row, units in the column names. */
export interface Table {
  readonly name: string;
  readonly columns: readonly string[];
  readonly rows: readonly (readonly Cell[])[];
}

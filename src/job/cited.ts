import type { Cited } from './job.ts';

/** A value of job.json with its source beside it (`name` and `nameSource`); one without the other is a problem at `column`. */
export function cited(
  value: number | undefined,
  source: string | undefined,
  column: string,
  add: (column: string, found: string, expected: string) => void,
): Cited | null {
  if (value === undefined && source === undefined) return null;
  if (value === undefined || source === undefined) {
    const name = column.slice(column.lastIndexOf('.') + 1);
    add(
      column,
      value === undefined ? 'a source without a value' : 'a value without its source',
      `both "${name}" and "${name}Source" (document and clause)`,
    );
    return null;
  }
  return { value, source };
}

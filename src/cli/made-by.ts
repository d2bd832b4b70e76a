import type { MadeBy } from '../papers/papers.ts';
import { localDate } from '../report/dates.ts';
import type { Io } from './io.ts';

/** Date and program as every paper names them. */
export function madeBy(io: Pick<Io, 'now'>, tool: string): MadeBy {
  return { generated: localDate(io.now()), tool };
}

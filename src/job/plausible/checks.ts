import type { Problem } from '../../input-error.ts';
import { formatLength } from '../../units/format-length.ts';
import { formatStress } from '../../units/format-quantity.ts';
import type { Job } from '../job.ts';
import { memberExtent, overhang } from '../member-extent.ts';

/** The questions asked of many values of a job; each puts what it finds on one list. */
export interface Checks {
  readonly problems: readonly Problem[];
  readonly add: (column: string, found: string, expected: string, suggestion?: string) => void;
  /** A value in SI within bounds that are loose: the aim is wrong units. */
  readonly between: (
    column: string,
    value: number,
    low: number,
    high: number,
    say: (si: number) => string,
  ) => void;
  readonly onMember: (column: string, station: number) => void;
  readonly increasing: (column: string, stations: readonly number[], what: string) => void;
  /** Words for a value, in the job's units. */
  readonly station: (metres: number) => string;
  readonly offset: (metres: number) => string;
  readonly stress: (pascals: number) => string;
  /** All spans together, m. */
  readonly longest: number;
}

export function checksOf(job: Job, file: string): Checks {
  const problems: Problem[] = [];
  const add: Checks['add'] = (column, found, expected, suggestion) =>
    problems.push({ file, column, found, expected, ...(suggestion === undefined ? {} : { suggestion }) });
  const station = (metres: number) => formatLength(metres, { units: job.units, as: 'station' });
  const offset = (metres: number) => formatLength(metres, { units: job.units, as: 'offset' });
  const stress = (pascals: number) => formatStress(pascals, job.units);

  const between: Checks['between'] = (column, value, low, high, say) => {
    if (value >= low && value <= high) return;
    // A bound only there to keep zero out would be written as zero itself.
    const from = /^0(?:\.0+)? /.test(say(low)) ? `more than ${say(0)}, at most` : `between ${say(low)} and`;
    add(column, say(value), `${from} ${say(high)}`);
  };

  const { from, to } = memberExtent(job);
  const slack = overhang(job.member.span);
  const onMember: Checks['onMember'] = (column, value) => {
    if (value < from - slack || value > to + slack) {
      add(column, station(value), `a station on the member, ${station(from)} to ${station(to)}`);
    }
  };
  const increasing: Checks['increasing'] = (column, values, what) => {
    values.forEach((value, i) => {
      if (i > 0 && value <= values[i - 1]!) {
        add(
          `${column}[${i}]`,
          `${station(value)} after ${station(values[i - 1]!)}`,
          `${what} in increasing order`,
        );
      }
    });
  };

  const { span, bearings } = job.member;
  const longest = bearings === undefined ? span : bearings.at(-1)! - bearings[0]!;
  return { problems, add, between, onMember, increasing, station, offset, stress, longest };
}

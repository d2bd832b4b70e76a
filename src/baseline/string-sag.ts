import type { Finding } from '../finding.ts';
import type { JobUnits, Line, StringSet } from '../job/job.ts';
import { stringSag } from '../job/string-sag.ts';
import { FOOT, POUND_FORCE } from '../units/factors.ts';
import { formatLength, formatUncertainty } from '../units/format-length.ts';

/** A nylon mason's line as it is often pulled by hand: weight N/m, tension N. Common practice, no source. */
const COMMON_STRING = { weight: (0.00078 * POUND_FORCE) / FOOT, tension: 20 * POUND_FORCE };

/**
 * What sag alone adds to an offset read from the string, m. The string is low, so the steel reads too high: too much
 * where positive is up, too little where positive is down. 0 where the job states no string.
 */
export function sagOffset(line: Line, station: number): number {
  const string = statedString(line);
  if (string === null) return 0;
  const sag = stringSag(string, string.ends ?? line.bearings, station);
  return string.positiveIs === 'up' ? sag : -sag;
}

/** A note on a camber line whose job says nothing of its string. */
export function sagFindings(line: Line, units: JobUnits): Finding[] {
  if (line.kind !== 'camber' || line.string !== undefined) return [];
  const length = line.bearings[1] - line.bearings[0];
  const sag = stringSag(COMMON_STRING, line.bearings, (line.bearings[0] + line.bearings[1]) / 2);
  return [
    {
      severity: 'note',
      code: 'string-sag-not-taken-off',
      message: `A string hangs low, and nothing is taken off for it on ${line.name}: a common one (${units === 'us' ? '0.00078 lb/ft pulled to 20 lb' : '1.16 g/m pulled to 89 N'}; common practice, no source) over ${formatLength(length, { units, as: 'station' })} hangs ${formatUncertainty(sag, units)} low at mid-length. Give the line's "string" its weight, tension and which way positive is, or "none" where no string was used. Movement from cycle to cycle is not touched by it.`,
      line: line.name,
    },
  ];
}

function statedString(line: Line): StringSet | null {
  return line.string === undefined || line.string === 'none' ? null : line.string;
}

/**
 * Source: made by hand. Straight pieces of steel between two bends, at 16 ft (plainly bent) and at 38 ft (hardly bent at all), heights in
 * inches, read to the sixteenth under a string of its own each day.
 */
import { describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { readOptions } from '../../src/job/read-options.ts';
import { readReadings } from '../../src/read/readings-csv.ts';

const JOB = parseJob(
  JSON.stringify({
    job: 'Weir cottage, girder 2',
    units: 'us',
    member: {
      ...{ span: '60 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '7/8 in' },
      diaphragms: ['15 ft', '30 ft', '45 ft'],
    },
    lines: { flange: { kind: 'sweep', bearings: ['0 ft', '60 ft'], positive: 'toward the river' } },
    acceptance: [{ line: 'flange', limit: '1/2 in', over: 'whole line' }],
  }),
);

/** 6, 5.3, 4.7 and 4.1 in at 16 ft; the bend at 38 ft is 0.7 of that less what the straight line falls. */
const SHEET = `station,cycle 0,cycle 1,cycle 2,cycle 3
0 ft,-5/16,1/8,-3/16,-1/16
2 ft,7/16,3/4,3/8,3/8
4 ft,1 5/16,1 7/16,1,1 1/16
6 ft,2,2 1/8,1 5/8,1 1/2
8 ft,2 3/4,2 13/16,2 3/16,1 15/16
10 ft,3 5/8,3 3/8,2 3/4,2 1/2
12 ft,4 1/4,4 1/16,3 5/16,3 1/16
14 ft,5,4 11/16,4,3 7/16
16 ft,5 1/2,5 3/16,4 7/16,3 7/8
18 ft,5 5/8,5 3/16,4 1/2,3 15/16
20 ft,5 1/2,5 1/16,4 3/8,3 15/16
22 ft,5 3/8,4 7/8,4 1/4,3 3/4
24 ft,5 1/4,4 5/8,4,3 9/16
26 ft,5 1/8,4 11/16,4,3 7/16
28 ft,5,4 7/16,3 3/4,3 7/16
30 ft,4 3/4,4 1/4,3 13/16,3 1/4
32 ft,4 5/8,4 3/16,3 3/4,3 1/4
34 ft,4 7/16,4,3 11/16,2 15/16
36 ft,4 1/4,3 13/16,3 7/16,2 15/16
38 ft,4 1/8,3 11/16,3 5/16,2 3/4
40 ft,3 3/4,3 3/8,3 1/16,2 1/2
42 ft,3 3/8,3,2 11/16,2 5/16
44 ft,3 1/8,2 11/16,2 1/2,2 1/16
46 ft,2 11/16,2 3/8,2 3/16,1 3/4
48 ft,2 1/4,1 15/16,1 15/16,1 7/16
50 ft,1 7/8,1 3/4,1 9/16,1 5/16
52 ft,1 5/8,1 5/16,1 3/8,1 1/16
54 ft,1 1/8,7/8,1 1/16,11/16
56 ft,13/16,5/8,7/8,1/2
58 ft,7/16,1/4,1/2,1/16
60 ft,1/16,-1/16,3/8,0`;

/** What is said of bending outside the zones and of rows in disorder, by cycle. */
function said(sheet: string): Map<number, string> {
  const { findings } = analyse(JOB, readReadings(sheet, readOptions(JOB, 'readings/sheet.csv')).readings);
  return new Map(
    findings
      .filter(({ code }) => code === 'new-curvature-outside-zones' || code === 'rows-shifted')
      .map(({ cycle, message }) => [cycle!, message]),
  );
}

/** The offsets of cycle 2 from 26 to 42 ft written one row too late. */
function nineRowsLate(sheet: string): string {
  const rows = sheet.split('\n').map((row) => row.split(','));
  const first = rows.findIndex(([station]) => station === '26 ft');
  return rows
    .map((row, i) => row.with(3, rows[i >= first && i < first + 9 ? i - 1 : i]![3]!).join(','))
    .join('\n');
}

describe('curvature outside the zones', () => {
  it('is not called new where the steel had as much of it as found', () => {
    expect([...said(SHEET)]).toEqual([]);
  });

  it('that is there in one survey alone is put down to its sheet, not to the steel', () => {
    const found = said(nineRowsLate(SHEET));
    expect([...found.keys()]).toEqual([2]);
    expect(found.get(2)).toContain('rows of that sheet stand at wrong stations');
  });
});

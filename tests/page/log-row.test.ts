import { describe, expect, it } from 'vitest';
import { readHeatLog } from '../../src/heats/heat-log-csv.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { withColumn, withoutLastRow, withRow } from '../../src/page/logs/log-row.ts';

const job = parseJob(
  JSON.stringify({
    job: 'Mill Lane over the brook, girder 2',
    units: 'us',
    member: { span: '40 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '3/4 in' },
    lines: { edge: { kind: 'sweep', bearings: ['0 ft', '40 ft'], positive: 'toward the mill' } },
    acceptance: [{ line: 'edge', limit: '1/2 in', over: 'whole line' }],
  }),
);
const read = (text: string) => readHeatLog(text, job, 'heats.csv');
const faults = (text: string) => read(text).problems;
const LOG = '# north end\r\ncycle,station (ft),pattern,note\r\n1,20,vee,"a, b"\r\n2,21,vee,\r\n';

describe('the last row of a log', () => {
  it('comes out alone: every line above and every comment below stays to the byte', () => {
    const less = withoutLastRow(`${LOG}# wind rose\r\n`)!;
    expect(less.text).toBe(
      '# north end\r\ncycle,station (ft),pattern,note\r\n1,20,vee,"a, b"\r\n# wind rose\r\n',
    );
    expect(less.row).toBe('2,21,vee,');
    const again = withoutLastRow(less.text)!;
    expect(again.row).toBe('1,20,vee,"a, b"');
    expect(withoutLastRow(again.text)).toBeNull();
    expect(withoutLastRow('')).toBeNull();
  });

  it('is what was kept last: taken back, the log is what it was before', () => {
    const row = { cycle: '3', 'station (ft)': '19', pattern: 'vee', note: 'x' };
    expect(withoutLastRow(withRow(LOG, row, faults))!.text).toBe(LOG);
  });

  it('written over several lines by a spreadsheet goes as one', () => {
    const less = withoutLastRow(`${LOG}3,22,vee,"two\nlines"\n`)!;
    expect(less.text).toBe(LOG);
    expect(less.row).toBe('3,22,vee,"two lines"');
  });
});

describe('a log that gains a column', () => {
  it('differs in its heading line alone, reads as before, and takes the new cell in the next row', () => {
    const wider = withColumn(LOG, 'gas (lb)', faults);
    expect(wider).toBe(LOG.replace('pattern,note\r\n', 'pattern,note,gas (lb)\r\n'));
    expect(read(wider).problems).toEqual([]);
    expect(read(wider).log.heats.map(({ cycle, note }) => [cycle, note])).toEqual(
      read(LOG).log.heats.map(({ cycle, note }) => [cycle, note]),
    );
    const row = { cycle: '3', 'station (ft)': '19', pattern: 'vee', 'gas (lb)': '2.5' };
    const { heats, gasUnit } = read(withRow(wider, row, faults)).log;
    expect(heats.at(-1)).toMatchObject({ gas: 2.5 });
    expect(gasUnit).toBe('lb');
  });

  it('is refused where it has the column already', () => {
    expect(() => withColumn(LOG, 'note', faults)).toThrow(/not added/);
  });
});

import { describe, expect, it } from 'vitest';
import { leaveOutCopies } from '../../src/doubts/copies.ts';
import { createRandom } from '../../src/practice/random.ts';
import type { Declaration, Reading } from '../../src/survey/survey.ts';

/**
 * What counts as evidence twice. No source outside: common practice in surveying is that a second reading of the same
 * steel never agrees to the last division at every station (each person's parallax and touch differ).
 */
const FOOT = 0.3048;
const SIXTEENTH = 0.0254 / 16;
const SHEET = [0, 3, 9, 17, 26, 33, 31, 22, 12, 5, 1];

function sheet(
  file: string,
  cycle: number,
  sixteenths: readonly number[],
  more: Partial<Reading> = {},
): Reading[] {
  return sixteenths.map((offset, i) => ({
    ...{
      cycle,
      line: 'flange',
      station: i * 4 * FOOT,
      offset: offset * SIXTEENTH,
      state: 'released' as const,
    },
    ...{ sd: null, temperature: null, date: null, time: null, note: null, file, row: i + 2 },
    ...more,
  }));
}

const said = (action: Declaration['action'], file: string): Declaration => ({
  ...{ action, file, who: 'R. Alder', why: 'asked the crew', when: '2025-06-01T10:00:00.000Z' },
});

const codes = (readings: readonly Reading[], declarations: readonly Declaration[] = []) =>
  leaveOutCopies(readings, declarations).findings.map(({ severity, code, file, cycle }) => [
    severity,
    code,
    file,
    cycle,
  ]);

describe('evidence that is there twice', () => {
  it('the same sheet in two files of one cycle counts once, under a stop', () => {
    const first = sheet('readings/a.csv', 3, SHEET);
    const again = sheet('readings/b.csv', 3, SHEET).reverse();
    const { readings, findings } = leaveOutCopies([...first, ...again]);
    expect(readings).toEqual(first);
    expect(findings.map(({ severity, code, file, cycle }) => [severity, code, file, cycle])).toEqual([
      ['stop', 'readings-copied', 'readings/b.csv', 3],
    ]);
    expect(findings[0]!.message).toContain('readings/a.csv');
    expect(findings[0]!.message).toContain('11 readings');
  });

  it('a sheet in millimetres or with other decimals is the same sheet', () => {
    const first = sheet('readings/a.csv', 3, SHEET);
    const inMillimetres = first.map((r) => ({
      ...r,
      file: 'readings/b.csv',
      offset: Number((r.offset * 1000).toFixed(5)) / 1000,
    }));
    expect(leaveOutCopies([...first, ...inMillimetres]).readings).toEqual(first);
  });

  it('the same sheet as cycles 9 to 13 is one cycle', () => {
    const all = [9, 10, 11, 12, 13].flatMap((cycle) => sheet(`readings/c${cycle}.csv`, cycle, SHEET));
    const { readings, findings } = leaveOutCopies(all);
    expect([...new Set(readings.map((r) => r.cycle))]).toEqual([9]);
    expect(findings.map((f) => f.cycle)).toEqual([10, 11, 12, 13]);
  });

  it('columns of one field sheet filled with one another are found too', () => {
    const all = [0, 1].flatMap((cycle) => sheet('readings/sheet.csv', cycle, SHEET));
    expect(codes(all)).toEqual([['stop', 'readings-copied', 'readings/sheet.csv', 1]]);
  });

  it('a sheet sent as another line, or as jacks on, is found', () => {
    const first = sheet('readings/a.csv', 3, SHEET);
    expect(codes([...first, ...sheet('readings/b.csv', 3, SHEET, { line: 'top' })])).toEqual([
      ['stop', 'readings-copied', 'readings/b.csv', 3],
    ]);
    expect(codes([...first, ...sheet('readings/b.csv', 3, SHEET, { state: 'restrained' })])).toEqual([
      ['stop', 'readings-copied', 'readings/b.csv', 3],
    ]);
  });

  it('a sheet sent in the morning and whole in the evening counts once, the whole one', () => {
    const half = sheet('readings/a.csv', 3, SHEET.slice(0, 6));
    const whole = sheet('readings/b.csv', 3, SHEET);
    const { readings, findings } = leaveOutCopies([...half, ...whole]);
    expect(readings).toEqual(whole);
    expect(findings[0]!.file).toBe('readings/a.csv');
  });

  it('short lines of one sheet are judged together', () => {
    const short = (file: string, cycle: number) => [
      ...sheet(file, cycle, [0, 3, 1], { line: 'tilt at A' }),
      ...sheet(file, cycle, [2, 5, 4], { line: 'tilt at B' }),
    ];
    expect(codes([...short('readings/a.csv', 1), ...short('readings/b.csv', 2)])).toEqual([
      ['stop', 'readings-copied', 'readings/b.csv', 2],
    ]);
    // One of them alone may be chance.
    expect(
      codes([...sheet('readings/a.csv', 1, [0, 3, 1]), ...sheet('readings/b.csv', 2, [0, 3, 1])]),
    ).toEqual([]);
    // In one survey it has to be said, however short.
    expect(
      codes([...sheet('readings/a.csv', 1, [0, 3, 1]), ...sheet('readings/b.csv', 1, [0, 3, 1])]),
    ).toEqual([['stop', 'readings-copied', 'readings/b.csv', 1]]);
    // Three stations the same in four cycles running is no chance.
    const four = [1, 2, 3, 4].flatMap((cycle) => sheet(`readings/${cycle}.csv`, cycle, [0, 3, 1]));
    expect(codes(four).map(([, , , cycle]) => cycle)).toEqual([2, 3, 4]);
  });

  it('a file that holds its block twice counts it once', () => {
    const block = sheet('readings/a.csv', 3, SHEET);
    const { readings, findings } = leaveOutCopies([
      ...block,
      ...block.map((r) => ({ ...r, row: r.row + 11 })),
    ]);
    expect(readings).toEqual(block);
    expect(findings.map((f) => f.code)).toEqual(['readings-copied']);
  });

  it('a line taken twice from one cloud counts once, whatever the numbers; two lines of one cloud both count', () => {
    const source = 'c'.repeat(64);
    const first = sheet('scans/a.csv', 3, SHEET, { source });
    const other = SHEET.map((each) => each + 0.3);
    expect(codes([...first, ...sheet('scans/b.csv', 4, other, { source })])).toEqual([
      ['stop', 'readings-copied', 'scans/b.csv', 4],
    ]);
    expect(codes([...first, ...sheet('scans/a.csv', 3, other, { source, line: 'top' })])).toEqual([]);
  });

  it('people’s repeats count: the last division differs here and there', () => {
    const first = sheet('readings/a.csv', 3, SHEET);
    const second = SHEET.map((each, i) => each + (i % 3 === 0 ? 1 : 0));
    const both = [...first, ...sheet('readings/b.csv', 3, second)];
    expect(leaveOutCopies(both)).toEqual({ readings: both, findings: [] });
    // A dead day too.
    expect(codes([...first, ...sheet('readings/b.csv', 4, second)])).toEqual([]);
    // One station looked at again and found the same is what crews do.
    expect(codes([...first, ...sheet('readings/b.csv', 3, SHEET).slice(4, 5)])).toEqual([]);
  });

  it('a sheet with a reading or two corrected is named, and counts', () => {
    const long = Array.from({ length: 21 }, (_, i) => (i * i) % 37);
    const corrected = long.map((each, i) => (i === 4 ? each + 8 : each));
    const both = [...sheet('readings/a.csv', 3, long), ...sheet('readings/b.csv', 3, corrected)];
    const { readings, findings } = leaveOutCopies(both);
    expect(readings).toEqual(both);
    expect(findings.map(({ severity, code }) => [severity, code])).toEqual([
      ['caution', 'readings-nearly-copied'],
    ]);
  });

  it('a straight line reads alike twice without being suspect: there is nothing to tell sheets apart by', () => {
    const flat = Array.from({ length: 12 }, () => 0);
    expect(codes([...sheet('readings/a.csv', 3, flat), ...sheet('readings/b.csv', 4, flat)])).toEqual([]);
  });

  it('a person settles it, by name: a copy stays out, a reading taken again counts', () => {
    const both = [...sheet('readings/a.csv', 3, SHEET), ...sheet('readings/b.csv', 4, SHEET)];
    expect(codes(both, [said('genuine', 'readings/b.csv')])).toEqual([
      ['note', 'read-again-declared', 'readings/b.csv', 4],
    ]);
    expect(leaveOutCopies(both, [said('genuine', 'readings/b.csv')]).readings).toEqual(both);
    expect(codes(both, [said('genuine', 'readings/b.csv'), said('copy', 'readings/b.csv')])).toEqual([
      ['note', 'copy-left-out', 'readings/b.csv', 4],
    ]);
    // The first of the two may be the wrong one.
    expect(leaveOutCopies(both, [said('copy', 'readings/a.csv')]).readings).toEqual(both.slice(SHEET.length));
    expect(leaveOutCopies(both, [said('copy', 'readings/a.csv')]).findings[0]!.message).toContain('R. Alder');
  });
});

describe('evidence that is nearly there twice', () => {
  /** Twenty stations; what a crew would not read twice to the last division. */
  const LONG = Array.from({ length: 20 }, (_, i) => (i * (19 - i) * 5 + i * i * 3) % 61);
  const near = (second: readonly number[], cycle = 4) =>
    codes([...sheet('readings/a.csv', 3, LONG), ...sheet('readings/b.csv', cycle, second)]);

  it('a later sheet that differs in one or two of twenty readings is named; it counts', () => {
    for (const changed of [[7], [0, 19]]) {
      const second = LONG.map((each, i) => (changed.includes(i) ? each + 1 : each));
      expect(near(second)).toEqual([['caution', 'readings-nearly-copied', 'readings/b.csv', 4]]);
    }
  });

  it('a sheet moved by one and the same step is named, in the same cycle and in a later one', () => {
    const second = LONG.map((each, i) => each + 3 + (i === 4 ? 1 : 0));
    expect(near(second)).toEqual([['caution', 'readings-nearly-copied', 'readings/b.csv', 4]]);
    expect(near(second, 3)).toEqual([['caution', 'readings-nearly-copied', 'readings/b.csv', 3]]);
  });

  it('two people reading the same steel are not: a third of the readings a division apart', () => {
    const second = LONG.map((each, i) => each + (i % 3 === 0 ? 1 : 0));
    expect(near(second)).toEqual([]);
    expect(near(second, 3)).toEqual([]);
  });

  it('by chance hardly ever: steel that stands still, read with an sd of half a division, 400 pairs', () => {
    const random = createRandom(12345);
    let named = 0;
    for (let n = 0; n < 400; n++) {
      const steel = LONG.map((each) => each + random.uniform());
      // Rounded to a division; the sd is half of one.
      const read = () => steel.map((each) => Math.round(each + 0.5 * random.normal()));
      const pair = [...sheet('readings/a.csv', 3, read()), ...sheet('readings/b.csv', 4, read())];
      if (leaveOutCopies(pair).findings.length > 0) named++;
    }
    expect(named).toBeLessThanOrEqual(1);
  });
});

import { describe, expect, it } from 'vitest';
import type { ReadOptions } from '../../src/read/read-options.ts';
import { readingsReader, readReadings, streamReadings } from '../../src/read/readings-csv.ts';

const one: ReadOptions = {
  file: 'readings/a.csv',
  units: 'us',
  lines: [{ name: 'bottom-flange', kind: 'sweep', from: -0.6, to: 19.5 }],
};
const read = (text: string, options: Partial<ReadOptions> = {}) => readReadings(text, { ...one, ...options });
const inches = (text: string, options: Partial<ReadOptions> = {}) => {
  const result = read(text, options);
  expect(result.problems).toEqual([]);
  return result.readings.map((r) =>
    [r.station / 0.3048, r.offset / 0.0254].map((v) => Math.round(v * 1e9) / 1e9),
  );
};

describe('long form', () => {
  it('reads any column order, with its own file lines', () => {
    const result = read(
      '# field book 3\n\noffset,station,cycle,state,date,time,temperature,sd,note\n3 5/16,12,1,restrained,2026-03-04,7:05,68,1/16,windy\n\n# more\n"5\'-3 1/2""",13.5,2,,,,,,\n',
    );
    expect(result.problems).toEqual([]);
    expect(result.form).toBe('long');
    expect(result.readings).toHaveLength(2);
    expect(result.readings[0]).toMatchObject({
      cycle: 1,
      line: 'bottom-flange',
      state: 'restrained',
      date: '2026-03-04',
      time: '07:05',
      temperature: 20,
      note: 'windy',
      file: 'readings/a.csv',
      row: 4,
    });
    expect(result.readings[0]!.offset).toBeCloseTo(3.3125 * 0.0254, 12);
    expect(result.readings[0]!.sd).toBeCloseTo(0.0254 / 16, 12);
    expect(result.readings[1]).toMatchObject({ cycle: 2, state: 'released', row: 7, sd: null });
    expect(result.readings[1]!.offset).toBeCloseTo(63.5 * 0.0254, 12);
  });

  const body = '0,0,0\n0,10,3 1/2\n1,20.5,-0 1/16\n';
  const expected = [
    [0, 0],
    [10, 3.5],
    [20.5, -0.0625],
  ];
  it.each([
    ['comma', `cycle,station,offset\n${body}`],
    ['BOM and CRLF', `\ufeffcycle,station,offset\r\n${body.replaceAll('\n', '\r\n')}`],
    ['mixed endings', `cycle,station,offset\r\n${body.replace('\n', '\r')}`],
    ['tab', `cycle\tstation\toffset\n${body.replaceAll(',', '\t')}`],
    ['semicolon and decimal comma', 'cycle;station;offset\n0;0;0\n0;10;3,5\n1;20,5;-0,0625\n'],
    ['header units', 'cycle,station_ft,offset (mm)\n0,0,0\n0,10,88.9\n1,20.5,-1.5875\n'],
    ['cell units', `cycle,station,offset\n0,0 m,0\n0,3048 mm,88.9 mm\n1,20'-6",-0.0625 in\n`],
    ['spaced headings', `Cycle, Station [ft], Offset in\n${body}`],
  ])('reads %s', (_, text) => {
    expect(inches(text)).toEqual(expected);
  });

  it('takes metres and millimetres in a metric job', () => {
    const result = read('cycle,station,offset\n0,9.45,84.5\n', { units: 'si' });
    expect(result.readings[0]).toMatchObject({ station: 9.45 });
    expect(result.readings[0]!.offset).toBeCloseTo(0.0845, 12);
  });

  it('reports every problem of every row at once and keeps the good rows', () => {
    const result = read(
      'cycle,line,station,offset\n0,bottom-flange,1,1\nx,bottom-flnge,2,3-5/16\n0,bottom-flange,,\n0,bottom-flange,310,1\n0,bottom-flange,4,4,5\n0,bottom-flange,6,1\n',
    );
    expect(result.readings.map((r) => r.row)).toEqual([2, 7]);
    expect(result.problems.map((p) => [p.row, p.column])).toEqual([
      [3, 'cycle'],
      [3, 'line'],
      [3, 'offset'],
      [4, 'station'],
      [4, 'offset'],
      [5, 'station'],
      [6, undefined],
    ]);
    expect(result.problems[1]!.suggestion).toBe('"bottom-flange"?');
    expect(result.problems[2]!.suggestion).toBe('3 5/16 in or 3 ft 5/16 in?');
    expect(result.problems[3]).toMatchObject({ found: 'nothing' });
    expect(result.badRows).toBe(4);
  });

  it('says what is wrong with a heading', () => {
    expect(read('cycle,station,offest\n0,1,1\n').problems[0]).toMatchObject({
      row: 1,
      suggestion: '"offset"?',
    });
    expect(read('cycle,station,station,offset\n').problems[0]!.found).toContain('second');
    expect(read('cycle,station,offset (furlongs)\n').problems[0]!.found).toContain('furlongs');
    expect(read('').problems[0]!.found).toBe('no heading line');
    expect(read('0,1,2\n').problems).toHaveLength(1);
  });

  it('says which lines an unclosed quote swallowed', () => {
    const result = read('cycle,station,offset,note\n0,1,1,ok\n0,2,1,"open\n0,3,1,x\n');
    expect(result.readings).toHaveLength(1);
    expect(result.problems[0]).toMatchObject({ row: 3 });
    expect(result.problems[0]!.found).toContain('3 to');
  });

  it('refuses a date that has two readings', () => {
    expect(read('cycle,station,offset,date\n0,1,1,3/4/2026\n').problems[0]!.suggestion).toBe(
      '2026-03-04 or 2026-04-03?',
    );
  });

  it('refuses a file with both decimal marks', () => {
    expect(read('cycle;station;offset\n0;1,5;1\n0;2.5;1\n').problems[0]!.expected).toBe(
      'one decimal mark in the whole file',
    );
  });
});

describe('field sheet', () => {
  it('reads a column a cycle; empty cells are not read', () => {
    const result = read(
      'station,cycle 0,cycle 1,cycle 2 restrained (mm)\ndate,2026-03-04,2026-03-05,\n0,0,1/4,\n10,3 1/2,,25.4\n10,3 9/16,,\n',
    );
    expect(result.problems).toEqual([]);
    expect(result.form).toBe('field sheet');
    expect(
      result.readings.map((r) => [
        r.cycle,
        r.state,
        r.row,
        Math.round((r.offset / 0.0254) * 1e6) / 1e6,
        r.date,
      ]),
    ).toEqual([
      [0, 'released', 3, 0, '2026-03-04'],
      [1, 'released', 3, 0.25, '2026-03-05'],
      [0, 'released', 4, 3.5, '2026-03-04'],
      [2, 'restrained', 4, 1, null],
      [0, 'released', 5, 3.5625, '2026-03-04'],
    ]);
  });
});

describe('streaming', () => {
  it('gives the same as reading whole, wherever the pieces are cut', async () => {
    const rows = Array.from(
      { length: 5000 },
      (_, i) => `${i % 7},${(i % 60) + 0.5},"${i % 9}'-3 1/2""",note ${i}`,
    );
    const text = `cycle,station,offset,note\r\n${rows.join('\r\n')}\r\n9,1,bad,\r\n`;
    const whole = read(text);
    for (const size of [997, 65_536, 100_003]) {
      const readings: unknown[] = [];
      async function* chunks() {
        for (let i = 0; i < text.length; i += size) yield text.slice(i, i + size);
      }
      const summary = await streamReadings(chunks(), one, (reading) => readings.push(reading));
      expect(readings).toEqual(whole.readings);
      expect(summary.problems).toEqual(whole.problems);
    }
    expect(whole.count).toBe(5000);
    expect(whole.problems[0]).toMatchObject({ row: 5002 });
  });
});

describe('shapes that make readers hang', () => {
  const head = 'cycle,station,offset\n';
  it.each([
    ['quotes only', '"'.repeat(1_000_000)],
    ['commas only', ','.repeat(1_000_000)],
    ['line ends only', '\n'.repeat(1_000_000)],
    ['carriage returns only', '\r'.repeat(1_000_000)],
    ['comments only', '#\n'.repeat(500_000)],
    ['one endless line', `${head}${'x'.repeat(2_000_000)}`],
    ['quotes closed wrongly', `${head}${'"x"y '.repeat(200_000)}`],
    ['quotes with spaces after', `${head}${'"a"      '.repeat(200_000)}`],
    ['quoted line ends', `${head}${'0,"1\n",2\n'.repeat(100_000)}`],
    ['a hundred thousand columns', `${'station_ft,'.repeat(100_000)}\n1,2\n`],
    ['bad rows only', `${head}${'x,y,z\n'.repeat(200_000)}`],
  ])('%s', (_, text) => {
    const whole = read(text);
    expect(whole.problemCount + whole.count).toBeGreaterThan(0);
    expect(whole.problems.length).toBeLessThanOrEqual(1000);
  });

  it('says of bytes that are no text the same, whichever block they come in', () => {
    const text = 'cycle,line,station,offset\r\n0,x,1,caf\ufffd\r\n0,\0,2,3\r\n';
    const whole = read(text);
    for (let cut = 0; cut <= text.length; cut++) {
      const reader = readingsReader(one, () => {});
      reader.push(text.slice(0, cut));
      reader.push(text.slice(cut));
      expect(reader.end()).toEqual({ ...whole, readings: undefined });
    }
    expect(whole.problems[0]!.found).toBe('characters that are not UTF-8 text');
    expect(read(text.replace('\0', 'y')).problems[0]!.found).toMatch(/saved as Latin-1/);
  });
});

import { describe, expect, it } from 'vitest';
import { checkReadings } from '../../src/doubts/check-readings.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { readOptions } from '../../src/job/read-options.ts';
import { readReadings } from '../../src/read/readings-csv.ts';

const job = parseJob(
  JSON.stringify({
    job: 'Mill Lane',
    units: 'us',
    member: { span: '62 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '1 in' },
    lines: { 'bottom-flange': { kind: 'sweep', bearings: [0, 62], positive: 'north' } },
  }),
);
const bow = (x: number) => 6 * (1 - ((x - 31) / 31) ** 2) + 2;
const stations = Array.from({ length: 32 }, (_, i) => 2 * i);
const sixteenths = (inches: number) => Math.round(inches * 16) / 16;
const sheet = (cycle: number, offset: (x: number, i: number) => number | string, more = '') =>
  `cycle,station,offset${more === '' ? '' : ',date'}\n${stations.map((x, i) => `${cycle},${x},${offset(x, i)}${more}`).join('\n')}\n`;
const read = (text: string, file: string) => readReadings(text, readOptions(job, file));
const asFound = read(
  sheet(0, (x) => sixteenths(bow(x)), ',2026-03-02'),
  'readings/0.csv',
).readings;
const codes = (text: string, existing = asFound) => {
  const incoming = read(text, 'new.csv');
  expect(incoming.problems).toEqual([]);
  return checkReadings(incoming.readings, job, existing).doubts;
};

describe('checkReadings', () => {
  it('says what would be read and has no doubt about a good sheet', () => {
    const incoming = read(
      sheet(1, (x) => sixteenths(bow(x) * 0.9 + 0.3)),
      'new.csv',
    );
    const check = checkReadings(incoming.readings, job, asFound);
    expect(check.doubts).toEqual([]);
    expect(check.surveys).toMatchObject([
      {
        line: 'bottom-flange',
        cycle: 1,
        state: 'released',
        readings: 32,
        stations: 32,
        from: 0,
        repeated: false,
      },
    ]);
    expect(check.surveys[0]!.to / 0.3048).toBeCloseTo(62, 9);
  });

  it('says a station read twice with offsets that do not agree, and nothing of repeats that do', () => {
    const twice = (apart: number) =>
      `${sheet(1, (x) => sixteenths(bow(x) * 0.97))}1,20,${sixteenths(bow(20) * 0.97) + apart}\n`;
    expect(codes(twice(1 / 16))).toEqual([]);
    const doubts = codes(twice(0.5)).filter(({ code }) => code === 'repeats-disagree');
    expect(doubts).toMatchObject([{ severity: 'caution', file: 'new.csv', row: 34 }]);
    expect(doubts[0]!.message).toContain(`20'-0" is read twice in cycle 1`);
  });

  it('says that the string stands otherwise at one end, or was not read there; not what a slip at the end explains', () => {
    const slope = (by: number) => sheet(1, (x) => sixteenths(bow(x) * 0.95 + (by * x) / 62));
    expect(codes(slope(0.125))).toEqual([]);
    expect(codes(slope(0.5))).toMatchObject([{ severity: 'note', code: 'string-end-differs' }]);
    expect(codes(slope(0.5))[0]!.message).toContain(`reads 1/2 in more at 62'-0" than in cycle 0`);
    expect(codes(slope(-0.5))[0]!.message).toContain('1/2 in less');
    const slip = codes(sheet(1, (x) => sixteenths(bow(x) * 0.95) + (x === 62 ? 1 : 0)));
    expect(slip.map(({ code }) => code)).toEqual(['reading-doubtful']);
    const short = sheet(1, (x) => sixteenths(bow(x) * 0.95)).replace(/1,62,.*\n/, '');
    expect(codes(short).map(({ code }) => code)).toContain('bearing-not-read');
  });

  it('a slip of the cycle before says nothing against good readings of this one', () => {
    const swap: Record<number, number> = { 5: 7, 7: 5 };
    const good = (x: number) => sixteenths(bow(x) * 0.95);
    const slipped = sheet(1, (x, i) => good(stations[swap[i] ?? i] ?? x));
    expect(codes(slipped).map(({ row }) => row)).toEqual([7, 9]);
    const existing = [...asFound, ...read(slipped, 'readings/1.csv').readings];
    expect(
      codes(
        sheet(2, (x) => sixteenths(bow(x) * 0.9)),
        existing,
      ),
    ).toEqual([]);
  });

  it('suggests 5 1/8 for 51 in a neighbourhood of 5', () => {
    const doubts = codes(sheet(1, (x, i) => (i === 5 ? 51 : sixteenths(bow(x) * 0.97))));
    expect(doubts).toMatchObject([{ code: 'reading-doubtful', file: 'new.csv', row: 7 }]);
    expect(doubts[0]!.message).toContain('5 1/8 in?');
  });

  it('recognises feet in an inches column, against the cycle before and alone', () => {
    const feet = (x: number) => Math.round((bow(x) / 12) * 100) / 100;
    expect(codes(sheet(1, feet))[0]!.message).toContain('feet in an inches column');
    expect(codes(sheet(0, feet), [])[0]!.message).toContain('feet in an inches column');
    const millimetres = (x: number) => Math.round(bow(x) * 25.4);
    expect(codes(sheet(1, millimetres))[0]!.message).toContain('millimetres in an inches column');
    expect(codes(sheet(0, millimetres), [])[0]!.message).toContain('millimetres in an inches column');
  });

  it('recognises a turned sign', () => {
    expect(codes(sheet(1, (x) => -sixteenths(bow(x) * 0.95))).map((d) => d.code)).toEqual(['sign-doubtful']);
  });

  it('says that a cycle is there already, the same or other readings', () => {
    expect(codes(sheet(0, (x) => sixteenths(bow(x)))).map((d) => d.code)).toEqual(['survey-twice']);
    const again = codes(sheet(0, (x, i) => sixteenths(bow(x) + (i % 2) / 16)));
    expect(again.map((d) => d.code)).toEqual(['cycle-already-read']);
    expect(again[0]!.message).toContain(
      'Cycle 0 already has 32 released readings of bottom-flange (readings/0.csv)',
    );
  });

  it('notes missing cycles, dates that run backwards and a slipped station', () => {
    expect(codes(sheet(3, (x) => sixteenths(bow(x)))).map((d) => d.code)).toEqual(['cycles-missing']);
    expect(codes(sheet(1, (x) => sixteenths(bow(x)), ',2026-03-01')).map((d) => d.code)).toEqual([
      'dates-not-increasing',
    ]);
    const slip = codes(sheet(1, (x) => sixteenths(bow(x))).replace('\n1,12,', '\n1,13,'));
    expect(slip[0]).toMatchObject({ code: 'station-new', row: 8 });
    expect(slip[0]!.message).toContain(`12'-0" is missing: is that meant?`);
  });

  it('works without a job', () => {
    const alone = readReadings(
      sheet(0, (x) => sixteenths(bow(x))),
      { file: 'a.csv', units: 'us', lines: null, line: 'a' },
    );
    expect(checkReadings(alone.readings, null, []).doubts).toEqual([]);
  });
});

import { describe, expect, it } from 'vitest';
import { assembleSurveys } from '../../src/survey/assemble.ts';
import { pooledReadingSd } from '../../src/survey/reading-sd.ts';
import type { Reading } from '../../src/survey/survey.ts';

const INCH = 0.0254;
const reading = (cycle: number, station: number, offset: number, more: Partial<Reading> = {}): Reading => ({
  cycle,
  line: 'a',
  station,
  offset: offset * INCH,
  state: 'released',
  sd: null,
  temperature: null,
  date: null,
  time: null,
  note: null,
  file: 'readings/a.csv',
  row: 1,
  ...more,
});

describe('assembleSurveys', () => {
  it('orders by cycle, restrained first, stations increasing, repeats in reading order', () => {
    const surveys = assembleSurveys(
      [
        reading(1, 5, 1, { row: 9 }),
        reading(0, 5, 1, { row: 1 }),
        reading(1, 0, 1, { row: 8 }),
        reading(1, 5, 2, { row: 10 }),
        reading(1, 5, 1, { state: 'restrained' }),
        reading(1, 5, 1, { line: 'b' }),
      ],
      { name: 'a' },
    );
    expect(surveys.map((s) => [s.cycle, s.state])).toEqual([
      [0, 'released'],
      [1, 'restrained'],
      [1, 'released'],
    ]);
    expect(surveys[2]!.readings.map((r) => r.row)).toEqual([8, 9, 10]);
  });
});

describe('pooledReadingSd', () => {
  const survey = (readings: Reading[]) => assembleSurveys(readings, { name: 'a' });

  it('pools variances by degrees of freedom (JCGM 100:2008 4.2.4, from memory)', () => {
    // Groups 1, 2, 3 (s² = 1, ν = 2) and 2.03, 2.05 … : Σνs² / Σν worked by hand, in inches.
    const groups = [
      [1, 1.2, 1.4],
      [2.03, 2.13],
      [3, 3.1, 3.2, 3.3],
      [4.01, 4.21, 4.41],
    ];
    // Σ squares about the mean: 0.08 + 0.005 + 0.05 + 0.08 = 0.215; ν = 2 + 1 + 3 + 2 = 8.
    const sd = pooledReadingSd(survey(groups.flatMap((g, i) => g.map((v) => reading(0, i, v)))), {
      readingSd: null,
    });
    expect(sd.source).toBe('repeats');
    expect(sd.degreesOfFreedom).toBe(8);
    expect(sd.value / INCH).toBeCloseTo(Math.sqrt(0.215 / 8), 9);
  });

  it('keeps the stated or default value where repeats are few', () => {
    const few = survey([reading(0, 1, 1), reading(0, 1, 1.1), reading(0, 2, 1)]);
    expect(pooledReadingSd(few, { readingSd: null })).toMatchObject({ source: 'default', value: INCH / 16 });
    expect(pooledReadingSd(few, { readingSd: 0.001 })).toMatchObject({ source: 'job', value: 0.001 });
  });

  it('never goes below the rounding of the readings, d/√12 (JCGM 100:2008 F.2.2.1: 1/16 in gives 0.018042 in)', () => {
    const same = survey(
      Array.from({ length: 12 }, (_, i) => [reading(0, i, i / 16), reading(0, i, i / 16)]).flat(),
    );
    const sd = pooledReadingSd(same, { readingSd: null });
    expect(sd.source).toBe('repeats');
    expect(sd.value / INCH).toBeCloseTo(0.018042, 5);
  });

  it('does not let one blunder among the repeats set the value', () => {
    const pairs = Array.from({ length: 12 }, (_, i) => [
      reading(0, i, 1),
      reading(0, i, i === 5 ? 13 : 1.0625),
    ]).flat();
    const sd = pooledReadingSd(survey(pairs), { readingSd: null });
    expect(sd.degreesOfFreedom).toBe(11);
    expect(sd.value / INCH).toBeCloseTo(0.0625 / Math.SQRT2, 6);
  });

  it('does not speak of a string line where every reading brought its own standard deviation, as a scan’s do', () => {
    const own = [0.02, 0.03, 0.05].map((sd, i) => reading(0, i, i, { sd: sd * INCH }));
    const scanned = pooledReadingSd(survey(own), { readingSd: null }).reason;
    expect(scanned).toBe(
      'Every reading came with a standard deviation of its own, as from a scan: 0.020 in to 0.050 in.',
    );
    const mixed = pooledReadingSd(survey([...own, reading(1, 0, 0)]), { readingSd: null }).reason;
    expect(mixed).toMatch(/^Default for the string-line readings: .*3 of 4 readings came with/);
    const string = pooledReadingSd(survey([reading(0, 0, 0)]), { readingSd: null }).reason;
    expect(string).toMatch(/^Default for a string-line reading: 0\.063 in; /);
    expect(string).not.toContain('scan');
  });
});

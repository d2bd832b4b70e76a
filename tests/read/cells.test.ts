import { describe, expect, it } from 'vitest';
import { isDate } from '../../src/job/dates.ts';
import { readCycle, readDate, readState, readTime } from '../../src/read/cells.ts';
import { readHeading } from '../../src/read/headings.ts';

describe('cells', () => {
  it('dates: real days of the Gregorian calendar only (ISO 8601, from memory)', () => {
    for (const good of ['2026-03-04', '2024-02-29', '2000-02-29']) expect(isDate(good)).toBe(true);
    for (const bad of ['2026-02-29', '2100-02-29', '2026-13-01', '2026-04-31', '2026-3-4', ''])
      expect(isDate(bad)).toBe(false);
    expect(readDate('2026/3/4')).toMatchObject({ suggestion: '2026-03-04?' });
    expect(readDate('13/4/2026')).toMatchObject({ suggestion: '2026-04-13?' });
    expect(readDate('tomorrow')).not.toHaveProperty('value');
  });

  it('times on a 24-hour clock', () => {
    expect(['7:05', '07:05:59', '2:30 pm', '12:10 AM', ''].map((text) => readTime(text))).toEqual(
      ['07:05', '07:05', '14:30', '00:10', null].map((value) => ({ value })),
    );
    for (const bad of ['24:00', '7:60', '13:00 pm', 'noon', '7'])
      expect(readTime(bad)).not.toHaveProperty('value');
  });

  it('cycles: digits only; a word is said back, not guessed', () => {
    expect(readCycle('12')).toEqual({ value: 12 });
    expect(readCycle('cycle 3')).toMatchObject({ suggestion: '3?' });
    expect(readCycle('3.0')).toMatchObject({ suggestion: '3?' });
    for (const bad of ['', '-1', '1.5', '1e2', 'x']) expect(readCycle(bad)).not.toHaveProperty('value');
  });

  it('states in the words of the trade', () => {
    expect(['', 'Released', 'jacks off'].map((text) => readState(text))).toEqual([
      { value: 'released' },
      { value: 'released' },
      { value: 'released' },
    ]);
    expect(readState('jacks on')).toEqual({ value: 'restrained' });
    expect(readState('maybe')).not.toHaveProperty('value');
  });
});

describe('headings', () => {
  it.each([
    ['station_ft', 'station', 'ft'],
    ['Station [m]', 'station', 'm'],
    ['offset (in)', 'offset', 'in'],
    ['offset, mm', 'offset', 'mm'],
    ['Offset in', 'offset', 'in'],
    ['sd_mm', 'sd', 'mm'],
    ['sta', 'station', null],
    ['Notes', 'note', null],
  ])('%s', (text, name, unit) => {
    expect(readHeading(text)).toMatchObject({ kind: 'column', name, unit });
  });

  it('temperature has its own units, cycles their states', () => {
    expect(readHeading('temperature (°C)')).toMatchObject({
      kind: 'column',
      name: 'temperature',
      unit: '°c',
    });
    expect(readHeading('cycle 3 restrained (mm)')).toEqual({
      kind: 'cycle',
      cycle: 3,
      state: 'restrained',
      unit: 'mm',
    });
    expect(readHeading('offset (ksi)')).toMatchObject({ kind: 'bad-unit' });
    expect(readHeading('temprature')).toEqual({ kind: 'unknown', near: 'temperature' });
    expect(readHeading('weather')).toEqual({ kind: 'unknown', near: null });
  });
});

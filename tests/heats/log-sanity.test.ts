import { describe, expect, it } from 'vitest';
import type { Finding } from '../../src/finding.ts';
import { jobFactor } from '../../src/heats/job-factor.ts';
import { saidOnce, sanityFindings } from '../../src/heats/log-sanity.ts';
import type { ZoneHeats, ZoneStep } from '../../src/heats/zone-heats.ts';

const step = (fromCycle: number, observed: number, expected: number | null, more: object = {}): ZoneStep => ({
  fromCycle,
  toCycle: fromCycle + 1,
  vees: 2,
  otherHeats: 0,
  observed,
  observedU: 1e-4,
  expected,
  ratio: expected === null ? null : observed / expected,
  ratioU: expected === null ? null : 1e-4 / expected,
  bound: null,
  unjacked: false,
  assumed: [],
  ...more,
});
const zoneWith = (steps: readonly ZoneStep[], total: ZoneStep | null = null): ZoneHeats =>
  ({ zone: 'A', line: 'flange', station: 3, steps, total, sinceCycle: 0 }) as unknown as ZoneHeats;

describe('what heats of this job have done of the formula', () => {
  it('by hand: 1, 2 and 3 of 10 each is 0.2; scatter 2/10/2, t(2) 1.8856 at 80 %', () => {
    const factor = jobFactor([zoneWith([step(0, 1, 10), step(1, 2, 10), step(2, 3, 10)])])!;
    expect(factor.value).toBeCloseTo(0.2, 12);
    // s² = ((−1)² + 0 + 1²)/10/2 = 0.1; half = 1.88562·√(0.1/30)
    expect(factor.high - factor.value).toBeCloseTo(1.885618 * Math.sqrt(0.1 / 30), 5);
    expect(factor.value - factor.low).toBeCloseTo(1.885618 * Math.sqrt(0.1 / 30), 5);
    expect(factor.vees).toBe(6);
  });

  it('two steps, or steps without a log: none', () => {
    expect(jobFactor([zoneWith([step(0, 1, 10), step(1, 2, 10)])])).toBeNull();
    expect(jobFactor([zoneWith([step(0, 1, null), step(1, 2, null), step(2, 2, null)])])).toBeNull();
  });
});

describe('observed over expected', () => {
  const said = (ratio: number, more: object = {}) =>
    sanityFindings([zoneWith([], step(0, ratio * 0.01, 0.01, more))]);

  it('0.25 to 3.9 is what heats do', () => {
    for (const ratio of [0.25, 1, 3.9]) expect(said(ratio)).toEqual([]);
  });

  it('five times with no jacking logged: the log; a tenth with jacking logged: the set-up', () => {
    expect(said(5, { unjacked: true })[0]!.code).toBe('more-than-heats-do');
    expect(said(5, { unjacked: true })[0]!.message).toContain('the log lacks their pressure');
    expect(said(5)[0]!.message).toContain('The log is wrong');
    expect(said(0.1)[0]!.message).toContain('The set-up is wrong');
  });

  it('known too poorly to say: silent', () => {
    expect(said(5, { ratioU: 0.6 })).toEqual([]);
  });
});

describe('a thing is said once', () => {
  const at = (row: number, message: string): Finding => ({
    severity: 'caution',
    code: 'heat-over-temperature',
    message,
    file: 'heats.csv',
    row,
  });

  it('eighty rows of one fault are one finding with a count and rows', () => {
    const all = Array.from({ length: 80 }, (_, i) => at(i + 3, `Steel reached ${1205 + i} °F.`));
    const once = saidOnce(all);
    expect(once).toHaveLength(1);
    expect(once[0]!.message).toContain('80 like this: rows 4, 5, 6, 7, 8, 9, 10, 11 and 71 more');
    expect(once[0]!.row).toBe(3);
  });

  it('identical ones are one, different ones up to three stay', () => {
    expect(saidOnce([at(3, 'a'), at(4, 'a')])).toHaveLength(1);
    expect(saidOnce([at(3, 'a'), at(4, 'b')])).toHaveLength(2);
  });
});

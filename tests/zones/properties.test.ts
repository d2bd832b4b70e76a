import { describe, expect, it } from 'vitest';
import { assembleSurveys } from '../../src/survey/assemble.ts';
import type { Reading } from '../../src/survey/survey.ts';
import { fitLine } from '../../src/zones/fit-line.ts';
import { createCase, DEFAULT_SD } from '../bench/zones-cases.ts';

/** What must not change the answer, on seeded simulated girders (tests/mechanics). */
describe.each(['zones/4', 'zones/22'])('%s', (seed) => {
  const one = createCase(seed, true);
  const line = one.job.lines[0]!;
  const { member } = one.job;
  const fit = (readings: readonly Reading[], changes: { line?: typeof line; member?: typeof member } = {}) =>
    fitLine(
      changes.line ?? line,
      changes.member ?? member,
      assembleSurveys(readings, changes.line ?? line),
      [],
      DEFAULT_SD,
      'us',
    );
  const plain = fit(one.set.readings);

  it('moving and tilting the string changes nothing but the string', () => {
    const moved = fit(one.set.readings.map((r) => ({ ...r, offset: r.offset + 0.3 - 0.004 * r.station })));
    expect(moved.zones.length).toBe(plain.zones.length);
    moved.zones.forEach((zone, j) => {
      expect(Math.abs(zone.rotation - plain.zones[j]!.rotation)).toBeLessThan(0.1 * zone.rotationU);
      expect(Math.abs(zone.from - plain.zones[j]!.from)).toBeLessThan(0.03);
    });
    expect(moved.surveys[0]!.setAside.map((s) => s.row)).toEqual(
      plain.surveys[0]!.setAside.map((s) => s.row),
    );
    expect(moved.surveys[0]!.largest.deviation).toBeCloseTo(plain.surveys[0]!.largest.deviation, 4);
  });

  it('measuring from the other end mirrors the zones', () => {
    const span = member.span;
    const mirrored = fit(
      one.set.readings.map((r) => ({ ...r, station: span - r.station })),
      {
        line: { ...line, impact: line.impact === null ? null : span - line.impact },
        member: { ...member, diaphragms: member.diaphragms!.map((d) => span - d).reverse() },
      },
    );
    expect(mirrored.zones.length).toBe(plain.zones.length);
    mirrored.zones.forEach((zone, j) => {
      const twin = plain.zones[plain.zones.length - 1 - j]!;
      expect(Math.abs(zone.rotation - twin.rotation)).toBeLessThan(0.5 * zone.rotationU);
      expect(Math.abs(span - zone.to - twin.from)).toBeLessThan(0.25);
    });
  });

  it('the same readings give the same answer to the last digit', () => {
    expect(fit(one.set.readings)).toEqual(plain);
  });
});

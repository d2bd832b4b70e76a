import { describe, expect, it } from 'vitest';
import { fitLine } from '../../src/zones/fit-line.ts';
import { createThreeSpanCase, score } from '../bench/zones-cases.ts';

/**
 * Girders of three spans by the fibre simulation (tests/mechanics: piers are stiff springs, none of the fit's formulas), one read
 * over an end span alone, one over the middle span alone. Limits are those asked of the tool.
 */
describe('a girder that runs on over two piers', () => {
  for (const seed of ['three/2', 'three/8'])
    it(`${seed}: is read over one span, and its rotations are within max(10 %, 6 mrad) and covered`, () => {
      const one = createThreeSpanCase(seed, true);
      const line = one.job.lines[0]!;
      const { piers, span } = one.truth.options;
      expect(line.bearings[1] - line.bearings[0]).toBeLessThan(0.7 * span);
      const fit = fitLine(line, one.job.member, one.surveys, [], one.readingSd, 'us');
      const { zones, falseZones } = score(one, fit);
      expect(falseZones).toEqual([]);
      expect(zones.length).toBeGreaterThanOrEqual(2);
      for (const { truth, found, error, covered } of zones) {
        expect(found).not.toBeNull();
        expect(Math.abs(error)).toBeLessThan(Math.max(0.1 * Math.abs(truth.rotation), 0.006));
        expect(covered).toBe(true);
      }
      // Piers press on the struck flange too, and do not give; diaphragms beyond the line are among what holds it.
      const held = fit.elastic.map(({ station }) => station);
      for (const pier of piers!) expect(held).toContain(pier);
      for (const { station, spring } of fit.elastic) expect(spring === null).toBe(piers!.includes(station));
    });

  it('the same readings of a girder said to end at the piers leave more doubt or another answer', () => {
    const one = createThreeSpanCase('three/2', true);
    const { bearings: _, ...alone } = one.job.member;
    const line = one.job.lines[0]!;
    const inside = alone.diaphragms!.filter((at) => at > line.bearings[0] && at < line.bearings[1]);
    const over = fitLine(line, one.job.member, one.surveys, [], one.readingSd, 'us');
    const cut = fitLine(line, { ...alone, diaphragms: inside }, one.surveys, [], one.readingSd, 'us');
    expect(cut.elastic.length).toBe(inside.length);
    expect(over.elastic.length).toBeGreaterThan(cut.elastic.length);
    expect(cut.zones.map((zone) => zone.rotation)).not.toEqual(over.zones.map((zone) => zone.rotation));
  });
});

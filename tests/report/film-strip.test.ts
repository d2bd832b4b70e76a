import { describe, expect, it } from 'vitest';
import { heatedVees } from '../../src/report/figures/drawn-vees.ts';
import { filmStrip } from '../../src/report/figures/film-strip.ts';
import { planDrawing } from '../../src/report/figures/plan.ts';
import { htmlText } from '../../src/report/html.ts';
import { quantities } from '../../src/report/quantities.ts';
import { syntheticAnalysis } from './synthetic-analysis.ts';

const q = quantities('us', 16);

describe('the film strip', () => {
  it('draws every survey of a short job and an even choice with first and last of a long one', () => {
    const frames = (cycles: number, width: number): number[] => {
      const analysis = syntheticAnalysis({ cycles });
      const text = htmlText(filmStrip(analysis.lines[0]!, q, width));
      return [...text.matchAll(/<tspan class="strong">(?:cycle )?([^<]+)</g)].map(([, word]) =>
        word === 'as found' ? 0 : Number(word),
      );
    };
    expect(frames(3, 940)).toEqual([0, 1, 2, 3]);
    const long = frames(40, 940);
    expect(long).toHaveLength(12);
    expect([long[0], long.at(-1)]).toEqual([0, 40]);
    expect(frames(40, 400)).toHaveLength(12);
  });
});

describe('vees on the drawing of the member', () => {
  const analysis = syntheticAnalysis({ cycles: 3 });
  const line = analysis.lines[0]!;
  const { job } = analysis;

  it('are as wide at the open end, on the scale of the length, as in the log, and reach their depth into the flange', () => {
    const width = 0.25 * job.member.flangeWidth;
    const depth = 0.75 * job.member.flangeWidth;
    const station = job.member.span / 2;
    const vees = { of: [{ station, width, depth, apex: 'positive' as const }], word: 'heated' };
    const text = htmlText(planDrawing(line, job, q, 940, vees));
    // The last one is in the drawing; the one before it is the sample in the legend.
    const drawn = [
      ...text.matchAll(/class="vee" d="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)Z"/g),
    ];
    const [x0, y0, x1, y1, x2, y2] = drawn.at(-1)!.slice(1).map(Number) as [
      number,
      number,
      number,
      number,
      number,
      number,
    ];
    expect(y0).toBe(y2);
    // Open end below (− side), apex toward + (up).
    expect(y1).toBeLessThan(y0);
    expect((x0 + x2) / 2).toBeCloseTo(x1, 0);
    expect(text).toContain('vee heated');
  });

  it('of the log are drawn once a place, sized by angle where no width is logged, on the side the bend asks for', () => {
    const zone = line.fit.zones[0]!;
    const heat = { pattern: 'vee', width: null, depth: 0.2, angle: Math.PI / 4 };
    const at = (station: number, more: object = {}) => ({
      heat: { ...heat, ...more },
      line: line.line,
      zone,
      station,
    });
    const made = [at(5), at(5.01), at(6, { depth: null }), at(7, { pattern: 'spot' }), at(8, { width: 0.1 })];
    const vees = heatedVees(line, { made } as never);
    expect(vees.map((vee) => vee.station)).toEqual([5, 8]);
    // 2 · 0.2 m · tan 22.5°, by hand.
    expect(vees[0]!.width).toBeCloseTo(0.165_685, 6);
    expect(vees[1]!.width).toBe(0.1);
    expect(vees[0]!.apex).toBe(zone.rotation > 0 ? 'positive' : 'negative');
  });
});

import { describe, expect, it } from 'vitest';
import { linesOfSection } from '../../src/member/lines-of-section.ts';
import { sectionAt } from '../../src/member/section.ts';
import { sectionsDrawing } from '../../src/report/figures/section.ts';
import { htmlText } from '../../src/report/html.ts';
import { quantities } from '../../src/report/quantities.ts';
import { FOOT } from '../../src/units/factors.ts';
import { analysedLine, memberJob, PLUMB, SWEEP, TILT, TOP } from '../member/placed-lines.ts';

const q = quantities('us', 16);
const WHOLE = memberJob({ depth: '36 in', webThickness: '1/2 in' });
const flat = (inches: number) => [{ cycle: 0, shape: () => inches }];

function draw(lines: Parameters<typeof linesOfSection>[0], of = WHOLE): string {
  const section = sectionAt(linesOfSection(lines), of.member, 30 * FOOT, 'found');
  const drawn = [{ station: 30 * FOOT, why: 'furthest out', found: section, now: section }];
  return htmlText(sectionsDrawing(drawn, of, 'north', q, 940, 180));
}

/** Corner points of the shapes of one style, px. */
function corners(svg: string, style: string): number[][][] {
  return [...svg.matchAll(new RegExp(`<path class="${style}" d="([^"]*)"`, 'g'))].map(([, d]) =>
    [...d!.matchAll(/(-?[\d.]+) (-?[\d.]+)/g)].map(([, x, y]) => [Number(x), Number(y)]),
  );
}
const mean = (values: number[]) => values.reduce((a, b) => a + b, 0) / values.length;

describe('the drawing of a section', () => {
  it('is to scale: 18 in over on a 36 in girder is half its drawn depth', () => {
    const svg = draw([
      analysedLine(SWEEP, flat(18)),
      analysedLine(TOP, flat(0)),
      analysedLine(PLUMB, flat(18)),
      analysedLine({ ...TILT }, flat(0)),
    ]);
    expect(svg).toContain('to scale, movements too');
    const bottom = corners(svg, 'is').at(-1);
    const [, top, still] = corners(svg, 'undamaged');
    const depth = Math.max(...still!.map((p) => p[1]!)) - Math.min(...top!.map((p) => p[1]!));
    const over = mean(bottom!.map((p) => p[0]!)) - mean(still!.map((p) => p[0]!));
    expect(depth).toBeCloseTo(180, 0);
    expect(over / depth).toBeCloseTo(0.5, 2);
    const width = Math.max(...still!.map((p) => p[0]!)) - Math.min(...still!.map((p) => p[0]!));
    expect(width / depth).toBeCloseTo(12 / 36, 2);
  });

  it('states its exaggeration, and turns the flange by it: the positive edge goes up', () => {
    const svg = draw([
      analysedLine(SWEEP, flat(2)),
      analysedLine(TOP, flat(0)),
      analysedLine(TILT, flat(0.3)),
    ]);
    const [, factor] = /movements and turns (\d+) times/.exec(svg)!;
    const bottom = corners(svg, 'is').at(-1);
    const [left, right] = bottom!;
    const slope = (left![1]! - right![1]!) / (right![0]! - left![0]!);
    expect(Number(factor)).toBeGreaterThan(1);
    // 0.3 in over 12 in.
    expect(slope).toBeCloseTo(Math.tan((0.3 / 12) * Number(factor)), 2);
    expect(svg).toContain(`movements enlarged ${factor} times`);
  });

  // 356 px is a phone of 390 less its margins; a character of 11 px type is 6 px wide or a little less.
  it('says its scale in lines that fit a phone, where the depth is not given too', () => {
    const section = sectionAt(
      linesOfSection([analysedLine(SWEEP, flat(2))]),
      memberJob({}).member,
      30 * FOOT,
      'found',
    );
    const drawn = [{ station: 30 * FOOT, why: 'furthest out', found: section, now: section }];
    const svg = htmlText(sectionsDrawing(drawn, memberJob({}), 'toward the north shoulder', q, 356, 180));
    const lines = [...svg.matchAll(/<text x="8"[^>]*>([^<]*)</g)].map(([, text]) => text!);
    expect(lines).toHaveLength(2);
    expect(lines.join(' ')).toMatch(/movements.*depth not given, web broken/);
    for (const line of lines) expect(8 + 6 * line.length).toBeLessThan(356);
  });

  it('never draws unread steel like read steel', () => {
    const one = draw([analysedLine(SWEEP, flat(2))]);
    expect(corners(one, 'is')).toHaveLength(0);
    expect(corners(one, 'is guess')).toHaveLength(3);
    expect(one).toContain('web not read');
    expect(one).toContain('dotted: not read');
    const all = draw([
      analysedLine(SWEEP, flat(2)),
      analysedLine(PLUMB, flat(2)),
      analysedLine(TILT, flat(0.6)),
    ]);
    expect(corners(all, 'is')).toHaveLength(2);
    expect(all).not.toContain('web not read');
  });

  it('breaks the web where the depth is not known', () => {
    expect(draw([analysedLine(SWEEP, flat(2))], memberJob({}))).toContain('depth not given, web broken');
    expect(draw([analysedLine(SWEEP, flat(2))])).not.toContain('web broken');
  });
});

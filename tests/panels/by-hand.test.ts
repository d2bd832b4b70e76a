/**
 * Panels typed by hand, in sixteenths of an inch, as a crew would write them: no plate, no formula and no noise of ours behind
 * them. Heights down from the top flange, stations every 6 in from 28 ft; a dot is a place not read.
 */
import { describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import { readOptions } from '../../src/job/read-options.ts';
import { readReadings } from '../../src/read/readings-csv.ts';
import { mapBulge } from '../../src/scan/bulge-map.ts';
import { statusText } from '../../src/status/status-text.ts';
import { feed } from '../scan/taking.ts';
import { panelJob } from './panel-job.ts';

const INCH = 0.0254;
const PLAIN = { columns: 80, paint: (_role: unknown, text: string) => text };

/** The survey of a grid, each row a height in inches and its cells in sixteenths; `plus` is added to a cell, in sixteenths. */
function survey(grid: string, plus: (column: number, height: number) => number = () => 0) {
  const rows = grid
    .trim()
    .split('\n')
    .map((row) => row.trim().split(/[\s:]+/));
  const readings = rows.flatMap(([height, ...cells]) =>
    cells.flatMap((cell, column) =>
      cell === '.'
        ? []
        : [`0,web-3,${28 + column / 2},${height},${(Number(cell) + plus(column, Number(height))) / 16}`],
    ),
  );
  const job = panelJob();
  const text = ['cycle,line,station (ft),height (in),offset (in)', ...readings].join('\n');
  const analysis = analyse(job, readReadings(text, readOptions(job, 'readings/a.csv')).readings);
  const fit = analysis.lines[0]!.fit;
  const codes = [...fit.findings, ...analysis.findings].map(({ code }) => code);
  return { analysis, fit: fit.surveys[0]!, panel: fit.surveys[0]!.panel!, codes };
}

const NARROW = `
  36:  0  1  0  0 -1  0  1  0  0  1  0
  32:  1  0  0  1  0  1  0  0  0  0 -1
  26:  0  0  1  2  7  9  3  0  1  0  0
  20:  0  1  0  8 30 26 10  1  0  0  1
  14: -1  0  1  5 16 19  6  1  0  1  0
   8:  0  0  0  1  2  2  1  0 -1  0  0
   2:  0  1  0  0  0  1  0  0  1  0  0`;

const FLAT = `
  36:  0  1  0  0 -1  0  1  0  0  1  0
  32:  1  0  0  1  0  1  0  0  0  0 -1
  26:  0  0  1  0  1  0 -1  0  1  0  0
  20:  0  1  0 -1  0  1  0  1  0  0  1
  14: -1  0  1  0  0  1  0  1  0  1  0
   8:  0  0  0  1  0 -1  1  0 -1  0  0
   2:  0  1  0  0  0  1  0  0  1  0  0`;

/** A bulge with a tear at its top: the rim is 25 sixteenths out, what the tear hides is not known. */
const TORN = `
  36:  0  1  1  2  2  3  2  2  1  0  0
  32:  0  2  4  6  8  9  8  6  3  1  0
  26:  1  3  7 13 18 20 18 12  7  3  0
  20:  0  4  9 17  .  . 25 16  8  4  1
  14:  1  4  8 15  .  . 22 15  8  3  0
   8:  0  2  6  9 13 14 12  9  5  2  1
   2:  0  1  1  2  3  3  3  2  1  0  0`;

/** Pushed in at a point: straight sides up to 2 in at 30 ft 3 in, 17 in up, which is between the places read. */
const POINTED = `
  36:  0  0  0  0  0  0  0  0  0  0  0
  32:  0  0  0  0  1  1  0  0  0  0  0
  26:  0  0  0  7 13 13  7  0  0  0  0
  20:  0  0  1 13 24 24 13  1  0  0  0
  14:  0  0  1 13 24 24 13  1  0  0  0
   8:  0  0  0  7 13 13  7  0  0  0  0
   2:  0  0  0  0  1  1  0  0  0  0  0`;

/** Levels off toward 1 7/8 in at the same place. */
const LEVEL = `
  36:  1  3  4  5  6  6  5  4  3  1  0
  32:  3  8 12 15 16 16 15 12  8  3  0
  26:  5 13 19 24 26 26 24 19 13  5  0
  20:  6 15 22 27 30 30 27 22 15  6  0
  14:  5 14 21 25 28 28 25 21 14  5  0
   8:  4 10 15 18 20 20 18 15 10  4  0
   2:  1  3  4  5  6  6  5  4  3  1  0`;

describe('panels typed by hand', () => {
  it('with straight sides up to a point between the places hold it inside their uncertainty, and ask for more readings', () => {
    const { fit, panel, codes } = survey(POINTED);
    expect(fit.setAside).toEqual([]);
    expect(Math.abs(panel.crest.deviation / INCH - 2)).toBeLessThan((2 * panel.crest.u) / INCH);
    expect(panel.crest.point).toBeGreaterThan(INCH / 16);
    expect(codes).toContain('crest-pointed');
    const level = survey(LEVEL);
    expect(level.codes).not.toContain('crest-pointed');
    expect(level.panel.crest.point).toBeLessThan(0.02 * level.panel.crest.deviation);
  });

  it('keep the whole of a bulge narrower than their grid, and say that its top may be higher', () => {
    const { fit, panel, codes } = survey(NARROW);
    expect(fit.setAside).toEqual([]);
    expect(panel.crest.deviation / INCH).toBeGreaterThan(1.6);
    expect(panel.crest.station / 0.3048).toBeCloseTo(30.2, 0);
    expect(codes).toContain('bulge-narrower-than-grid');
  });

  it('leave out one reading an inch off on a flat panel, and say so', () => {
    const { fit, panel, codes } = survey(FLAT, (column, height) => (column === 4 && height === 20 ? 16 : 0));
    expect(fit.setAside).toHaveLength(1);
    expect(fit.setAside[0]).toMatchObject({ station: 30 * 0.3048, height: 20 * INCH });
    expect(Math.abs(panel.crest.deviation)).toBeLessThan(INCH / 8);
    expect(codes).toContain('reading-set-aside');
    expect(codes).not.toContain('bulge-narrower-than-grid');
  });

  it('leave out one reading an inch off on the flank of a bulge', () => {
    const whole = TORN.replaceAll('.', '26');
    const { fit } = survey(whole, (column, height) => (column === 2 && height === 26 ? 16 : 0));
    expect(fit.setAside.map(({ station, height }) => [station, height])).toEqual([[29 * 0.3048, 26 * INCH]]);
  });

  it('call what stands beside a tear at the crest a least value, on every screen', () => {
    const { analysis, panel, codes } = survey(TORN);
    expect(panel.crest.lowerBound).toBe(true);
    expect(panel.crest.deviation / INCH).toBeGreaterThan(22 / 16);
    expect(panel.crest.deviation / INCH).toBeLessThan(28 / 16);
    expect(panel.unseen.some((part) => part.touchesCrest)).toBe(true);
    expect(codes).toContain('crest-beside-unread');
    expect(statusText(analysis, PLAIN)).toContain('at least');
  });

  it('do not call a tear away from the crest one', () => {
    const moved = TORN.replaceAll('.', '26').replace('2:  0  1  1  2', '2:  .  .  1  2');
    const { panel, codes } = survey(moved);
    expect(panel.crest.lowerBound).toBe(false);
    expect(codes).not.toContain('crest-beside-unread');
  });

  it('take off a sway of 2 in and a skew of half an inch, and find the same bulge or none', () => {
    const sway = (column: number, height: number) => Math.round(32 * (1 - height / 38) + (8 * column) / 10);
    const flat = survey(FLAT, sway).panel;
    expect(Math.abs(flat.crest.deviation)).toBeLessThan(INCH / 8);
    expect(flat.takenOff.sway.value / INCH).toBeCloseTo(-2, 1);
    const whole = TORN.replaceAll('.', '26');
    const [still, swayed] = [survey(whole).panel.crest, survey(whole, sway).panel.crest];
    expect(Math.abs(still.deviation - swayed.deviation)).toBeLessThan(2 * still.u);
  });
});

describe('a cloud of a web seen from both sides', () => {
  it('is mapped on one face: a ball-shaped bulge of 1 in is 1 in, whichever face was seen where', () => {
    const mapper = mapBulge(
      {
        name: 'web-3',
        corners: [
          [0, 0, 0],
          [1.5, 0, 0],
          [1.5, 0, 1],
          [0, 0, 1],
        ],
        positive: [0, 1, 0],
        held: ['1-2', '2-3', '3-4', '4-1'],
        margin: 0.02,
        reach: 0.15,
        cell: 0.025,
      },
      1,
    );
    // A cap of a ball 1 in high. The front face on the left two thirds, the back one, 7/16 in behind it, on the right ones: a
    // lattice 9 mm apart, without noise.
    const ball = 1.8415;
    const out = (x: number, z: number) =>
      Math.max(0, Math.sqrt(Math.max(0, ball ** 2 - (x - 0.7) ** 2 - (z - 0.5) ** 2)) - ball + INCH);
    const points: number[] = [];
    for (let x = 0.004; x < 1.5; x += 0.009)
      for (let z = 0.005; z < 1; z += 0.009) {
        if (x < 1) points.push(x, out(x, z), z);
        if (x > 0.5) points.push(x, out(x, z) - (7 / 16) * INCH, z);
      }
    feed(Float64Array.from(points), mapper);
    const { largest, facesApart } = mapper.map();
    // One end of the panel is seen on the other face only, so that its lean there is not known: u says so.
    expect(Math.abs(largest.deviation - INCH)).toBeLessThan(2 * largest.sd);
    expect(largest.sd).toBeLessThan(INCH / 20);
    expect(Math.abs(largest.u - 0.7)).toBeLessThan(0.05);
    expect(facesApart / INCH).toBeCloseTo(7 / 16, 1);
  });
});

import { describe, expect, it } from 'vitest';
import type { LineAnalysis } from '../../src/analysis.ts';
import { type CoverPlateFit, coverPlatesOf } from '../../src/plates/cover-plate.ts';
import { inOpening, openingArea } from '../../src/plates/opening.ts';
import { renderCoverSheet } from '../../src/report/cover-plate-sheet.ts';
import { panelJob } from '../panels/panel-job.ts';

const INCH = 0.0254;
const FROM = 28 * 0.3048;
const PLATE = {
  sides: 'positive',
  thickness: '3/8 in',
  boltDiameter: '3/4 in',
  rows: 1,
  pitch: '4 in',
  fromOpening: '2 in',
  edgeDistance: '1 1/2 in',
  leastEdge: '1 in',
  leastEdgeSource: 'specification, table 3',
  gapLimit: '1/16 in',
  gapLimitSource: 'specification, 4.1',
};
/** 12 by 10 in about the middle of the panel, which is 60 by 38 in. */
const OPENING = { stations: ['30 ft', '31 ft'], heights: ['14 in', '24 in'], radius: '1 in' };

/**
 * The plate on steel of a given shape, read everywhere but where `blind` says; x and y in inches from the corner of the
 * panel, the steel in inches toward the + side.
 */
function laid(
  steel: (x: number, y: number) => number,
  plate: object = {},
  options: { blind?: (x: number, y: number) => boolean; opening?: object; panel?: object; u?: number } = {},
): CoverPlateFit {
  const job = panelJob({
    cutOut: { ...(options.opening ?? OPENING), plate: { ...PLATE, ...plate } },
    ...options.panel,
  });
  const [columns, rows] = [61, 39];
  const at = Array.from({ length: columns * rows }, (_, i) => [
    ((i % columns) / (columns - 1)) * 60,
    (Math.floor(i / columns) / (rows - 1)) * 38,
  ]);
  const map = {
    ...{ from: FROM, to: FROM + 60 * INCH, low: 0, high: 38 * INCH, columns, rows },
    deviation: at.map(() => 0),
    u: at.map(() => (options.u ?? 0.001) * INCH),
    seen: at.map(([x, y]) => options.blind?.(x!, y!) !== true),
  };
  const panel = {
    map,
    takenOff: { shape: at.map(([x, y]) => steel(x!, y!) * INCH) },
    crest: { lowerBound: false },
    unseen: [],
  };
  const survey = {
    cycle: 5,
    state: 'released',
    temperature: null,
    panel,
    stations: [{ setAside: false }],
    largest: {},
  };
  const entry = { line: job.lines[0]!, fit: { surveys: [survey] } } as unknown as LineAnalysis;
  return coverPlatesOf(job, [entry])[0]!;
}

const inches = (m: number | null) => m! / INCH;
const place = (p: { station: number; height: number }) => `${p.station.toFixed(4)} ${p.height.toFixed(4)}`;

describe('the plate over an opening', () => {
  it('has no gap on flat steel, however far that leans, and is itself the smallest', () => {
    const fit = laid((x, y) => 0.5 + 0.03 * x - 0.02 * y);
    expect(fit.bolts).toHaveLength(16);
    for (const bolt of fit.on[0]!.bolts) {
      expect(inches(bolt.gap)).toBeCloseTo(0, 6);
      expect(bolt.result).toBe('within');
    }
    expect(fit.smallest!.more).toEqual({ from: 0, to: 0, low: 0, high: 0 });
    expect(fit.findings).toEqual([]);
    // 12 + 2 · (2 + 1 1/2) by 10 + 7 in.
    expect(inches(fit.outline!.to - fit.outline!.from)).toBeCloseTo(19, 6);
    expect(inches(fit.outline!.high - fit.outline!.low)).toBeCloseTo(17, 6);
  });

  it('over a ridge rests on what stands highest beside the opening, under it on its own ends (by hand, k(x² − a²))', () => {
    const k = 0.002;
    // Half-way between the nodes of the map, an inch apart, a parabola lies k/4 off the straight line.
    const BETWEEN = k / 4 + 1e-6;
    const ridge = (x: number, y: number) => -k * (x - 30) ** 2 + 0.01 * y;
    // On the + face the ridge itself carries it, above and below the opening: the gap at x from the middle is k·x².
    const over = laid(ridge);
    const gapAt = new Map(over.on[0]!.bolts.map((bolt) => [place(bolt), inches(bolt.gap)]));
    for (const bolt of over.on[0]!.bolts) {
      // It rocks on the ridge, and says so: the two sides together are what the steel falls off.
      const other = gapAt.get(place({ station: 2 * FROM + 60 * INCH - bolt.station, height: bolt.height }))!;
      expect((inches(bolt.gap) + other) / 2).toBeCloseTo(k * (inches(bolt.station - FROM) - 30) ** 2, 3);
    }
    expect(over.findings.map(({ code }) => code)).toContain('plate-can-rock');
    // On the − face it spans from edge to edge, 9 1/2 in out.
    const under = laid(ridge, { sides: 'negative' });
    for (const bolt of under.on[0]!.bolts)
      expect(
        Math.abs(inches(bolt.gap) - k * (9.5 ** 2 - (inches(bolt.station - FROM) - 30) ** 2)),
      ).toBeLessThan(BETWEEN);
    // In the middle of the lower row k·9.5² = 0.1805 in: an eighth and two thirty-seconds less than it, 0.024 in left.
    const middle = under.on[0]!.bolts.find((bolt) => Math.abs(inches(bolt.station - FROM) - 30) < 1e-6)!;
    expect(middle.fill!.thickness / INCH).toBeCloseTo(5 / 32, 9);
    expect(inches(middle.fill!.left)).toBeCloseTo(0.1805 - 5 / 32, 3);
    expect(inches(Math.max(...under.on[0]!.edges.map((edge) => edge.gap!)))).toBeCloseTo(0.1805, 3);
  });

  it('on a dome read to 1/20 in its gaps are doubtful by no more than it can be tipped', () => {
    // A paraboloid falls by c·r². Tangent at the far side of its middle, a plate stands 4·c·r² above a place: more it cannot.
    const c = 0.001;
    const over = laid((x, y) => -c * ((x - 30) ** 2 + (y - 19) ** 2), {}, { u: 0.05 });
    const [side] = over.on;
    expect(side!.rocks).toBe(true);
    for (const bolt of side!.bolts) {
      const r2 = ((bolt.station - FROM) / INCH - 30) ** 2 + (bolt.height / INCH - 19) ** 2;
      expect(bolt.u! / INCH).toBeLessThan(Math.hypot(Math.max(0.05, (4 * c * r2) / Math.sqrt(3)), 0.05));
      expect(bolt.u! / INCH).toBeGreaterThan(0.05);
    }
  });

  it('grows until its bolts sit on flat steel, and no further on any side', () => {
    // A blister to one side of the opening, 3/4 in high where the stated near row stands.
    const blister = (x: number, y: number) => {
      const r = Math.hypot(x - 19, y - 19) / 5;
      return r < 1 ? 0.75 * (1 - r * r) ** 2 : 0;
    };
    const fit = laid(blister, { sides: 'negative' });
    expect(fit.on[0]!.bolts.some((bolt) => inches(bolt.gap) > 1 / 16)).toBe(true);
    const { more, bolts, outline } = fit.smallest!;
    const grew = Object.values(more).reduce((sum, each) => sum + each, 0);
    expect(grew).toBeGreaterThan(0);
    for (const bolt of bolts)
      expect(blister(inches(bolt.station - FROM), inches(bolt.height))).toBeLessThan(1 / 16 + 1e-3);
    const area = (box: { from: number; to: number; low: number; high: number }) =>
      (box.to - box.from) * (box.high - box.low);
    expect(area(outline)).toBeGreaterThan(area(fit.outline!));
    // Out on the near side alone, past the blister's foot at 14 in from the end, would always do: 8 in and 17 in high.
    expect(area(outline) / INCH ** 2).toBeLessThanOrEqual((19 + 8) * 17 + 1e-6);
  });

  it('counts what the readings leave open, and calls no bolt within on steel that was not read', () => {
    const unsure = laid(() => 0, {}, { u: 0.06 });
    expect(unsure.on[0]!.bolts.every((bolt) => bolt.result === 'undetermined')).toBe(true);
    const torn = laid(() => 0, {}, { blind: (x, y) => x < 24 && y < 18 });
    const results = torn.on[0]!.bolts.map((bolt) => bolt.result);
    expect(results.filter((result) => result === 'unread').length).toBeGreaterThan(1);
    expect(torn.findings.map(({ code }) => code)).toContain('bolt-on-unread-steel');
    for (const bolt of torn.smallest?.bolts ?? [])
      expect(inches(bolt.station - FROM) < 24 && inches(bolt.height) < 18).toBe(false);
  });

  it('says what it runs into: fillet, stiffener, diaphragm, panel edge; and edge distances below the cited rule', () => {
    const fit = laid(() => 0, {
      rows: 3,
      gauge: '3 in',
      fillet: '2 in',
      leastEdge: '1 3/4 in',
      obstacles: [{ what: 'a stiffener', stations: ['32 ft', '32 ft 1/2 in'] }],
    });
    // 10 in opening and 2 + 6 + 1 1/2 in on either side: 4 1/2 to 33 1/2 in, clear of 2 in of fillet; 20 1/2 to 39 1/2… across.
    expect(fit.clashes.join('; ')).not.toContain('fillet');
    expect(fit.clashes).toEqual([]);
    expect(fit.findings.filter(({ code }) => code === 'edge-distance')).toHaveLength(1);
    const wide = laid(() => 0, {
      rows: 4,
      gauge: '3 in',
      fillet: '2 in',
      obstacles: [{ what: 'a stiffener', stations: ['31 ft 8 in', '31 ft 8 1/2 in'] }],
    });
    expect(wide.clashes.join('; ')).toMatch(/the fillet along the bottom edge \(2 in\), by 1\/2 in/);
    expect(wide.clashes.join('; ')).toContain('a stiffener');
    expect(wide.smallest).toBeNull();
    const codes = wide.findings.map(({ code }) => code);
    expect(codes).toContain('plate-clash');
    expect(codes).toContain('no-smallest-plate');
  });
});

describe('openings', () => {
  it('are rectangles with rounded corners or polygons (areas by hand), and half-stated ones are refused by name', () => {
    const square = [
      { station: 0, height: 0 },
      { station: 2, height: 0 },
      { station: 2, height: 2 },
      { station: 0, height: 2 },
    ];
    expect(openingArea({ corners: square, radius: 1 })).toBeCloseTo(Math.PI, 12);
    const triangle = square.slice(0, 3);
    // Rounded by the radius of its incircle, a triangle is that circle: (2 + 2 − √8)/2.
    const inner = 2 - Math.SQRT2;
    expect(openingArea({ corners: triangle, radius: inner })).toBeCloseTo(Math.PI * inner ** 2, 12);
    // Five corners of an L turn out and one in: 3 − (5 − 1)·r²·(1 − π/4), whichever way round it is written.
    const ell = [
      [0, 0],
      [2, 0],
      [2, 1],
      [1, 1],
      [1, 2],
      [0, 2],
    ].map(([station, height]) => ({
      station: station!,
      height: height!,
    }));
    const area = 3 - 4 * 0.3 ** 2 * (1 - Math.PI / 4);
    expect(openingArea({ corners: ell, radius: 0.3 })).toBeCloseTo(area, 12);
    expect(openingArea({ corners: ell.toReversed(), radius: 0.3 })).toBeCloseTo(area, 12);
    // 12 by 10 in holds corners of 5 in and no more.
    expect(panelJob({ cutOut: { ...OPENING, radius: '5 in' } }).lines[0]!.panel!.cutOut!.radius).toBeCloseTo(
      5 * INCH,
      12,
    );
    expect(() => panelJob({ cutOut: { ...OPENING, radius: '5 1/16 in' } })).toThrow();
    expect(openingArea({ corners: triangle, radius: 0 })).toBeCloseTo(2, 12);
    expect(inOpening({ corners: triangle }, { station: 1.5, height: 1 })).toBe(true);
    expect(inOpening({ corners: triangle }, { station: 0.5, height: 1 })).toBe(false);
    expect(() => panelJob({ cutOut: { stations: ['30 ft', '31 ft'] } })).toThrow(/could not be used/);
    expect(() =>
      panelJob({ cutOut: { ...OPENING, plate: { ...PLATE, leastEdgeSource: undefined } } }),
    ).toThrow();
    expect(() => panelJob({ cutOut: { ...OPENING, plate: { ...PLATE, rows: 2 } } })).toThrow();
    const polygon = laid(
      () => 0,
      {},
      {
        opening: {
          corners: [
            ['30 ft', '14 in'],
            ['31 ft', '14 in'],
            ['30 ft 6 in', '24 in'],
          ],
        },
      },
    );
    expect(inches(polygon.opening.box.high)).toBeCloseTo(24, 6);
    expect(polygon.findings.map(({ code }) => code)).toContain('opening-sharp-corners');
  });
});

describe('the drawing', () => {
  it('is to the scale it states, with every bolt at its place from the edges, and a bar to check the print by', () => {
    const fit = laid(() => 0, { sides: 'both' });
    const sheet = renderCoverSheet(
      panelJob({ cutOut: { ...OPENING, plate: { ...PLATE, sides: 'both' } } }),
      [fit],
      { generated: '2026-05-08', tool: 'sweepbook' },
    );
    const [steel, template] = sheet.split('<section').slice(1) as [string, string];
    for (const [part, width] of [
      [steel, 60],
      [template, 19],
    ] as const) {
      const scale = Number(/Scale 1 to (\d+)/.exec(part)![1]);
      const at = [...part.matchAll(/<circle cx="([\d.]+)" cy="([\d.]+)"/g)].map((m) => [
        Number(m[1]),
        Number(m[2]),
      ]);
      expect(at).toHaveLength(16);
      // 96 px an inch of paper: the first two bolts stand 4 in apart on the steel.
      expect(((at[1]![0]! - at[0]![0]!) * scale) / 96).toBeCloseTo(4, 1);
      expect((width * 96) / scale).toBeLessThanOrEqual(520);
    }
    expect(sheet).toContain('This bar is 4 in long on paper');
    expect(/M2 2v8M2 6H386\.0/.test(sheet)).toBe(true);
    // Bolt 1: 24 − 2 in across, 14 − 2 in up on the panel; 1 1/2 in from both edges of the plate.
    expect(template).toMatch(
      /<th scope="row">1<\/th><td class="num">1 1\/2 in<\/td><td class="num">1 1\/2 in<\/td><td class="num">22 in<\/td><td class="num">12 in<\/td>/,
    );
  });

  it('spreads a template larger than a sheet over sheets at full size, no hole cut, each ring at its place', () => {
    const fit = laid(() => 0, { sides: 'both' });
    const job = panelJob({ cutOut: { ...OPENING, plate: { ...PLATE, sides: 'both' } } });
    const text = renderCoverSheet(job, [fit], { generated: '2026-05-08', tool: 'Sweepbook 0.1.0' });
    const tiles = [
      ...text.matchAll(
        /<svg class="cover" viewBox="0 0 ([\d.]+) ([\d.]+)" width="([\d.]+)mm" height="([\d.]+)mm"/g,
      ),
    ];
    // The plate is 19 by 17 in by hand (12 + 2 · 3.5 by 10 + 2 · 3.5); a sheet holds 6.5 by 8.5.
    expect(tiles).toHaveLength(6);
    // One unit of the drawing is one millimetre of paper, and the sheet goes inside the margins of A4 and of Letter.
    for (const [, wide, tall, across, up] of tiles) {
      expect([across, up]).toEqual([wide, tall]);
      expect(Number(wide)).toBeLessThanOrEqual(210 - 16);
      expect(Number(tall)).toBeLessThanOrEqual(279.4 - 16 - 15);
    }
    expect(text).toContain('sheet C2');
    expect(text).toContain('13 in across, 8 1/2 in up');
    expect(text).toContain('measures 19 in by 17 in, 25 1/2 in from corner to corner');
    // Bolt 1, 1 1/2 in from both edges: 38.1 mm, and a flap of 10 mm, from the near lower corner of sheet A1.
    const first = text.slice(text.indexOf('Sheet A1 of the full-size'));
    expect(first).toMatch(/<circle cx="48\.1" cy="[\d.]+" r="9\.53?"/);
    expect(text).toContain('Turned over');
  });
});

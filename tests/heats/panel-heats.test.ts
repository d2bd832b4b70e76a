import { describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import { readHeatLog } from '../../src/heats/heat-log-csv.ts';
import { heatsOfJob } from '../../src/heats/heats-of-job.ts';
import { heatsText } from '../../src/heats/heats-text.ts';
import { renderCrewCard } from '../../src/report/crew-card.ts';
import { panelReadings } from '../panels/campaign.ts';
import { panelJob } from '../panels/panel-job.ts';
import { dent } from '../panels/plates.ts';

const INCH = 0.0254;
const LIMITS = {
  spotDiameter: ['3/4 in', '1 1/4 in'],
  spotSpacing: '4 in',
  spotsPerCycle: 5,
  lineSpacing: '6 in',
  linesPerCycle: 2,
  source: 'special provision, 7.3',
};
const PUSH = { share: 0.3, shareSource: 'special provision, 7.5', jack: 'ram' };
const JACKS = [{ name: 'ram', ramArea: '2 in2', capacity: '20 kip' }];
const LEFT = [1, 0.8, 0.62];

/** A dome of 2 in over 60 by 38 in, read in three cycles; `hole`: nothing read about the crest. */
function campaign(limits: object | null, hole = false) {
  const job = panelJob(
    { held: ['bottom', 'top', 'from', 'to'], push: PUSH },
    { jacks: JACKS, ...(limits === null ? {} : { heating: { limits } }) },
  );
  const readings = panelReadings(job, {
    cycles: LEFT.length,
    grid: [20, 12],
    truth: (x, y, cycle) => 2 * INCH * LEFT[cycle]! * dent(x, y, 0.5, 0.5, 0.42, 60 / 38),
    ...(hole ? { skip: (x: number, y: number) => Math.abs(x - 0.5) < 0.07 && Math.abs(y - 0.5) < 0.1 } : {}),
  });
  return { job, analysis: analyse(job, readings) };
}

const NONE = { heats: [], gasUnit: null, currency: null };
const spotted = campaign(LIMITS);

describe('heats on a bulge', () => {
  const [panel] = heatsOfJob(spotted.analysis, NONE).panels;

  it('lie along the foot of the dome as straight lines and on the dome as spots, each on the face that stands proud', () => {
    const lines = panel!.places.filter((place) => place.pattern === 'line');
    const spots = panel!.places.filter((place) => place.pattern === 'spot');
    expect(lines.length).toBeGreaterThan(3);
    expect(spots.length).toBeGreaterThan(5);
    const off = (at: { station: number; height: number }) => {
      const [x, y] = [at.station - 30.5 * 0.3048, at.height - 19 * INCH];
      return Math.hypot(x, y) / (0.42 * 38 * INCH);
    };
    // The dent is a raised cosine: it bends back from half its radius on, most at its rim.
    for (const line of lines) {
      expect(line.face).toBe('negative');
      for (const end of line.path) expect(off(end)).toBeGreaterThan(0.5);
    }
    for (const spot of spots) {
      expect(spot.face).toBe('positive');
      expect(off(spot.path[0]!)).toBeLessThan(0.6);
    }
  });

  it('keep the stated distances and numbers, the sharpest bends first', () => {
    const places = panel!.places.filter((place) => place.pattern === 'spot').map((place) => place.path[0]!);
    places.forEach((a, i) => {
      for (const b of places.slice(0, i))
        expect(Math.hypot(a.station - b.station, a.height - b.height)).toBeGreaterThan(4 * INCH - 1e-9);
    });
    const next = panel!.next.filter((heat) => heat.pattern === 'spot');
    expect(next).toHaveLength(5);
    const others = panel!.places.filter((place) => place.pattern === 'spot' && !next.includes(place));
    const least = Math.min(...next.map((heat) => heat.left));
    expect(Math.max(...others.map((heat) => heat.left))).toBeLessThanOrEqual(least);
    expect(panel!.next.filter((heat) => heat.pattern === 'line').length).toBeLessThanOrEqual(2);
    for (const heat of panel!.next) expect(heat.left).toBeLessThan(heat.found);
  });

  it('are not laid out, and no limit is made up, where the job cites none: it says which to state', () => {
    const bare = campaign(null);
    const [none] = heatsOfJob(bare.analysis, NONE).panels;
    expect(none!.places).toEqual([]);
    for (const name of ['spotDiameter', 'spotSpacing', 'spotsPerCycle', 'lineSpacing', 'linesPerCycle'])
      expect(none!.reason).toContain(`heating.limits.${name}`);
    const { source: _, ...half } = LIMITS;
    expect(() => campaign(half)).toThrow();
  });

  it('stand clear of a hole by the spacing of the readings, and a push beside it is cautioned', () => {
    const { analysis } = campaign(LIMITS, true);
    const heats = heatsOfJob(analysis, NONE);
    const [torn] = heats.panels;
    const apart = 60 * 0.05 * INCH;
    // Last places read beside the hole: x 0.4 and 0.6, y 5/12 and 7/12.
    for (const { path } of torn!.places.filter((place) => place.pattern === 'spot')) {
      const x = Math.abs(path[0]!.station - 30.5 * 0.3048);
      const y = Math.abs(path[0]!.height - 19 * INCH);
      expect(x > 0.05 * 60 * INCH + apart / 2 || y > (38 / 12) * INCH).toBe(true);
    }
    expect(heats.findings.map((finding) => finding.code)).toContain('push-beside-hole');
  });
});

describe('heats logged on a panel', () => {
  const LOG = `cycle,line,zone,station,height (in),pattern,width (in),temperature (F),before (F),pressure (psi)
1,web-3,L1,,,line,,1150,70,400
1,web-3,S1,,,spot,1,1150,70,400
1,web-3,S3,,,spot,1,1150,70,400
2,web-3,S2,,,spot,2,1150,70,400
2,web-3,S99,,,spot,1,1150,70,400
2,web-3,,29.2,5,spot,1,1150,70,5000
2,web-3,,29.2,6,spot,1,1150,70,0
`;
  const { log, problems } = readHeatLog(LOG, spotted.job, 'heats.csv');
  const heats = heatsOfJob(spotted.analysis, log);
  const [panel] = heats.panels;

  it('are counted to the cycles they were made in, with what each moved', () => {
    expect(problems).toEqual([]);
    expect(panel!.steps.map(({ spots, lines }) => [spots, lines])).toEqual([
      [2, 1],
      [4, 0],
    ]);
    // 0.4 in out of the crest by three heats, as the campaign has it.
    const [first] = panel!.steps;
    expect(first!.perHeat! / INCH).toBeCloseTo(0.4 / 3, 1);
    expect(Math.abs(first!.observed - 0.4 * INCH)).toBeLessThan(3 * first!.observedU);
    expect(panel!.left!.expected).toBeGreaterThan(2);
  });

  it('are held against the limits: diameter, place, distance, name, and the gauge against the ceiling of the panel', () => {
    const codes = new Map(panel!.findings.map(({ code, row }) => [code, row]));
    expect(codes.get('spot-diameter')).toBe(5);
    expect(codes.get('heat-place-not-known')).toBe(6);
    expect(codes.get('heat-outside-yield')).toBeGreaterThan(6);
    expect(codes.get('spots-too-close')).toBe(8);
    expect(codes.get('push-above-ceiling')).toBe(7);
    expect(heats.findings.map(({ code }) => code)).not.toContain('no-jacking-ceiling');
    // A stop stands, so nothing is proposed.
    expect(panel!.next).toEqual([]);
    expect(panel!.reason).toContain('a stop stands');
  });
});

describe('the crew’s papers of a panel', () => {
  it('terminal and card show ceiling, limits with their source, and the next heats by name', () => {
    const heats = heatsOfJob(spotted.analysis, NONE);
    const text = heatsText(spotted.job, heats, 100).replace(/\s+/g, ' ');
    const card = renderCrewCard(spotted.job, heats, {
      generated: '2026-05-08',
      tool: 'sweepbook',
      cycle: 2,
      lines: spotted.analysis.lines,
    });
    for (const { name } of heats.panels[0]!.next) {
      expect(text).toContain(name);
      expect(card).toContain(`>${name}</text>`);
    }
    for (const words of ['special provision, 7.3', 'special provision, 7.5', 'Johansen'])
      expect(text).toContain(words);
    expect(card).not.toContain('No plastic zone');
    expect(card).toContain('Force on web-3, never above');
  });
});

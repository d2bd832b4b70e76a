import { describe, expect, it } from 'vitest';
import type { Analysis, LineAnalysis, Verdict } from '../../src/analysis.ts';
import { readHeatLog } from '../../src/heats/heat-log-csv.ts';
import { heatsOfJob } from '../../src/heats/heats-of-job.ts';
import { heatsText } from '../../src/heats/heats-text.ts';
import { fitWith, jobWith, zone } from './fixtures.ts';

const FOOT = 0.3048;
const sweep = (more: Record<string, unknown> = {}) => ({
  kind: 'sweep',
  part: 'bottom-flange',
  bearings: ['0 ft', '62 ft'],
  positive: 'toward the north shoulder',
  ...more,
});

/** Both edges of one flange, bent at midspan and lettered differently; invented numbers. */
function twoEdges(
  options: {
    verdicts?: readonly Verdict[];
    near?: Record<string, unknown>;
    far?: Record<string, unknown>;
    log?: string;
    farSide?: 1 | -1;
  } = {},
) {
  const job = jobWith({
    lines: { near: sweep(options.near), far: sweep(options.far) },
    restraint: { line: 'near', setUp: 'simple', supports: ['21 ft', '41 ft'], importance: 'primary' },
    jacks: [{ name: 'jack', station: '31 ft', ramArea: '5.16 in2' }],
  });
  const rotations = [-0.06, -0.05, -0.04];
  const entry = (index: number, letter: string, sense: number): LineAnalysis => {
    const read = rotations.map((each) => sense * each);
    const z = zone(letter, 29 * FOOT, 33 * FOOT, read[0]!);
    return {
      line: job.lines[index]!,
      fit: fitWith(
        [z],
        read.map((rotation, cycle) => ({ cycle, rotations: [rotation], u: 2e-4 })),
      ),
      progress: { verdict: options.verdicts?.[index] ?? 'progressing', sinceCycle: 0, zones: [] },
      movements: [],
      acceptance: [],
    } as unknown as LineAnalysis;
  };
  const { log, problems } = readHeatLog(options.log ?? 'cycle,station\n', job, 'heats.csv');
  expect(options.log === undefined ? [] : problems).toEqual([]);
  const lines = [entry(0, 'A', 1), entry(1, 'C', options.farSide ?? 1)];
  return { job, heats: heatsOfJob({ job, lines, findings: [] } as unknown as Analysis, log) };
}

describe('two lines along one flange', () => {
  it('get one set of vees: no place is proposed to be heated twice in a cycle', () => {
    const { job, heats } = twoEdges();
    expect(heats.layouts.map(({ line }) => line)).toEqual(['near']);
    expect(heats.layouts[0]!.vees.length).toBeGreaterThan(0);
    expect([...heats.led]).toEqual([['far', 'near']]);
    expect(heatsText(job, heats, 200)).toContain('far reads the same flange as near');
  });

  it('a heat logged on the other line, by its place or by that line’s zone, counts once, and is known there', () => {
    const log = `cycle,line,station,zone,pattern,angle,depth,temperature,pressure
1,far,31,,vee,45,12,1200,0
1,far,,C,vee,45,12,1200,0
2,near,31,A,vee,45,12,1200,0
2,far,30,C,vee,45,12,1200,0
`;
    const { heats } = twoEdges({ log });
    expect(heats.zones.map((z) => [z.line, z.total!.vees])).toEqual([['near', 4]]);
    expect(
      heats.findings.filter(({ code }) => code === 'zone-not-known' || code === 'zone-and-station-disagree'),
    ).toEqual([]);
  });

  it('the line still outside leads one that is done, and one that goes the wrong way forbids heat for both', () => {
    expect(twoEdges({ verdicts: ['within-tolerance', 'progressing'] }).heats.layouts[0]).toMatchObject({
      line: 'far',
    });
    const { heats } = twoEdges({ verdicts: ['progressing', 'regressing'] });
    expect(heats.layouts).toHaveLength(1);
    expect(heats.layouts[0]!.vees).toEqual([]);
    expect(heats.layouts[0]!.reason).toContain('wrong way');
  });

  it('the jacks help the bend of either line as much, its positive side told by its words', () => {
    const near = twoEdges().heats.zones[0]!;
    const verdicts = ['within-tolerance', 'progressing'] as const;
    const [same] = twoEdges({ verdicts }).heats.zones;
    expect(same!.plannedLoadRatio).toBeCloseTo(near.plannedLoadRatio!, 12);
    const [mirrored] = twoEdges({ verdicts, far: { positive: 'toward the south shoulder' }, farSide: -1 })
      .heats.zones;
    expect(mirrored!.plannedLoadRatio).toBeCloseTo(near.plannedLoadRatio!, 12);
    expect(mirrored!.against).toBeNull();
    const [unknown] = twoEdges({ verdicts, far: { positive: 'down' } }).heats.zones;
    expect(unknown!.plannedLoadRatio).toBe(0);
  });

  it('lines of other steel keep their own heats: the top flange, and another span', () => {
    expect(twoEdges({ far: { part: 'top-flange' } }).heats.layouts).toHaveLength(2);
    expect(
      twoEdges({ near: { bearings: ['0 ft', '34 ft'] }, far: { bearings: ['28 ft', '62 ft'] } }).heats
        .layouts,
    ).toHaveLength(2);
  });
});

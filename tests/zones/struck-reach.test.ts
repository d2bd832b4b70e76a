import { describe, expect, it } from 'vitest';
import type { Zone } from '../../src/analysis.ts';
import type { Line } from '../../src/job/job.ts';
import { reachFindings } from '../../src/zones/findings.ts';
import { createLineModel } from '../../src/zones/line-model.ts';
import { blowDensity } from '../../src/zones/model.ts';
import { LINE, MEMBER } from '../line-fit-builder.ts';

const FOOT = 0.3048;
const zone = (from: number, to: number): Zone =>
  ({
    zone: 'A',
    class: 'plastic',
    from: from * FOOT,
    to: to * FOOT,
    core: { centre: ((from + to) / 2) * FOOT },
  }) as unknown as Zone;
const codes = (zones: Zone[]) =>
  reachFindings(
    LINE as Line,
    [24 * FOOT, 26 * FOOT],
    [0, 15, 30, 45, 60].map((s) => s * FOOT),
    zones,
    'us',
  ).map(({ code }) => code);

describe('the struck reach', () => {
  it('explains bends at the blow and over the supports beside it, and no others', () => {
    expect(codes([zone(23, 27), zone(13, 17), zone(28, 33)])).toEqual([]);
    expect(codes([zone(23, 27), zone(38, 41)])).toEqual(['bend-outside-struck-reach']);
  });

  it('is where a blow not placed otherwise is most likely, and a density all the same', () => {
    const model = createLineModel(LINE, { ...MEMBER, struck: [24 * FOOT, 26 * FOOT] });
    const step = 0.001;
    let sum = 0;
    for (let at = model.from; at < model.to; at += step) sum += step * blowDensity(model, at);
    expect(sum).toBeCloseTo(1, 2);
    expect(blowDensity(model, 25 * FOOT)).toBeGreaterThan(50 * blowDensity(model, 40 * FOOT));
    expect(blowDensity(createLineModel(LINE, MEMBER), 1)).toBeCloseTo(1 / (60 * FOOT), 9);
  });
});

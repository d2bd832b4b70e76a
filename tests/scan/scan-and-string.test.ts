import { expect, it } from 'vitest';
import { readGirder } from '../mechanics/readings.ts';
import { createRandom, pickedLine, scanOf, shapeOf, struckGirder, takeLine } from './scan-girder.ts';

/** The string measures the middle of the flange here, the scan its edge; a rigid flange edge differs by a constant. */
it('scan and string of the same cycle agree within their combined uncertainty', () => {
  const random = createRandom('both');
  const truth = struckGirder(random);
  const shape = { ...shapeOf(truth), twist: () => 0 };
  const profile = takeLine(pickedLine(shape), shape, scanOf(shape, random));
  const sd = 0.0012;
  const rule = 0.0254 / 16;
  const { readings } = readGirder(truth, {
    stations: profile.stations.map((s) => s.station),
    sd,
    rounding: rule,
    stringOffset: 0.15,
    stringTilt: 0.002,
    random: random.fork('crew'),
  });
  const differences = profile.stations.map((s, i) => ({
    x: s.station,
    d: s.offset - readings[i]!.offset,
    u: Math.hypot(s.u, sd, rule / Math.sqrt(12)),
  }));
  // Each has its own string: offset and tilt between them are free (weighted straight line through the differences).
  const w = differences.map((e) => 1 / (e.u * e.u));
  const sum = (f: (i: number) => number) => differences.reduce((s, _, i) => s + w[i]! * f(i), 0);
  const mean = sum((i) => differences[i]!.x) / sum(() => 1);
  const level = sum((i) => differences[i]!.d) / sum(() => 1);
  const tilt =
    sum((i) => (differences[i]!.x - mean) * (differences[i]!.d - level)) /
    sum((i) => (differences[i]!.x - mean) ** 2);
  const chi2 = sum((i) => (differences[i]!.d - level - tilt * (differences[i]!.x - mean)) ** 2);
  const freedom = differences.length - 2;
  // Chi-square of n degrees of freedom: mean n, variance 2n. Neither too far apart nor suspiciously close.
  expect(chi2).toBeLessThan(freedom + 3.5 * Math.sqrt(2 * freedom));
  expect(chi2).toBeGreaterThan(freedom - 3.5 * Math.sqrt(2 * freedom));
});

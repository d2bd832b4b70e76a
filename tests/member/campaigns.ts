import type { LineAnalysis } from '../../src/analysis.ts';
import { seededNormal, seededUniform } from '../../src/maths/seeded.ts';
import { analysedLine, CAMBER, PLUMB, SWEEP, TILT } from './placed-lines.ts';

/**
 * Straightening campaigns of an invented girder (60 ft, 36 in deep, 12 in flange), made from how plates move and crews
 * read, not from what the checks fit: one to three sharp bends between straight reaches with a slow elastic bow, the top
 * flange held, the web leaning by the same amount over its depth, the flange turning with a web that folds more or less
 * from place to place, everything out of true and rolled with a sweep as built, every string with an end block of its own height.
 */
export type Slip =
  | 'none'
  /** The far end of the string slips while the cycle is read. */
  | 'string-end'
  /** The level is misread at one station. */
  | 'level-misread'
  /** The plumb bob is misread at one station. */
  | 'plumb-misread'
  /** The level has lost its zero. */
  | 'level-zero'
  /** No slip: the top flange went along with 60 % of the bottom one's way. */
  | 'top-flange'
  /** No slip: the flange is twisted by itself along the bend, against the lean. */
  | 'flange-twisted'
  /** "positive" of the plumb says the wrong side. */
  | 'plumb-side'
  /** The rod stood on a dropped edge along the bend. */
  | 'camber-low';

export interface Campaign {
  readonly lines: readonly LineAnalysis[];
  /** Cycle and station (ft) of the slip. */
  readonly cycle: number;
  readonly at: number;
}

/** @param stiffened stations (ft) of stiffeners fitted to the bottom flange, which stays square to the web there */
export function campaign(
  seed: number,
  slip: Slip,
  slipInches = 1,
  stiffened: readonly number[] = [],
): Campaign {
  const uniform = seededUniform(seed * 7919 + 13);
  const normal = seededNormal(uniform);
  const between = (low: number, high: number) => low + (high - low) * uniform();
  const cycles = Math.floor(between(1, 9));
  const crest = between(16, 44);
  const size = between(1.5, 6) * (uniform() < 0.5 ? -1 : 1);
  const reach = [between(5, 16), between(5, 16)] as const;
  const bowed = between(-0.3, 0.3);
  // Rolled with up to 1/8 in of sweep for each 10 ft, both flanges alike; no baseline takes it off here.
  const rolled = between(-0.75, 0.75);
  const bend = (x: number) => {
    const far = x < crest ? (crest - x) / reach[0] : (x - crest) / reach[1];
    return size * Math.max(0, 1 - far) + bowed * Math.sin((Math.PI * x) / 60);
  };
  const left = Array.from({ length: cycles }, (_, c) => Math.max(0, 1 - c * between(0.08, 0.14)));
  // As built: up to 1/4 in out of plumb and out of square, a wave of 1/16 in on it.
  const wave = () => {
    const [a, b] = [between(3, 9), between(0, 6)];
    return (x: number) => (1 / 16) * Math.sin(x / a + b);
  };
  const [lean, square, leanWave, squareWave] = [
    [between(-0.25, 0.25), between(-0.25, 0.25)],
    between(-0.25, 0.25),
    wave(),
    wave(),
  ];
  const fold = {
    middle: between(0.35, 1.15),
    swing: between(0, 0.3),
    every: between(4, 10),
    from: between(0, 6),
  };
  const turning = (x: number) =>
    stiffened.includes(x) ? 1 : fold.middle + fold.swing * Math.sin(x / fold.every + fold.from);
  const blocks = () => {
    const [a, b] = [0.045 * normal(), 0.045 * normal()];
    return (x: number) => (a * (60 - x)) / 60 + (b * x) / 60;
  };
  const cycle = Math.floor(between(0, cycles));
  // On a mark every line reads, away from the ends.
  const at = 4 * Math.floor(between(2, 13));
  const read = (inches: number, sd: number) => Math.round((inches + sd * normal()) * 16) / 16;
  const spike = (kind: Slip, c: number, x: number) =>
    slip === kind && c === cycle && x === at ? slipInches : 0;
  const SD = 1 / 16;
  const survey = (shape: (c: number) => (x: number) => number) =>
    left.map((_, c) => ({ cycle: c, shape: shape(c), u: SD / 1.2 }));
  const sweep = analysedLine(
    SWEEP,
    survey((c) => {
      const block = blocks();
      return (x) =>
        read(
          left[c]! * bend(x) +
            (rolled * 4 * x * (60 - x)) / 3600 +
            block(x) +
            (slip === 'string-end' && c === cycle ? (slipInches * x) / 60 : 0),
          SD,
        );
    }),
    2,
  );
  const along = (x: number) => (slip === 'top-flange' ? 0.4 : 1) * bend(x);
  const plumb = analysedLine(
    PLUMB,
    survey(
      (c) => (x) =>
        (slip === 'plumb-side' ? -1 : 1) *
        (read(left[c]! * along(x) + (lean[0]! * (60 - x) + lean[1]! * x) / 60 + leanWave(x), SD) +
          spike('plumb-misread', c, x)),
    ),
    4,
  );
  const tilt = analysedLine(
    TILT,
    survey(
      (c) => (x) =>
        read(
          (slip === 'flange-twisted' ? -1 : turning(x)) * left[c]! * along(x) * (12 / 36) +
            square +
            squareWave(x) +
            (slip === 'level-zero' ? slipInches : 0),
          SD,
        ) + spike('level-misread', c, x),
    ),
    4,
  );
  const camber = analysedLine(
    CAMBER,
    survey((c) => {
      const block = blocks();
      return (x) =>
        read(
          36 -
            Math.sqrt(36 ** 2 - (left[c]! * along(x)) ** 2) +
            block(x) -
            (slip === 'camber-low' ? Math.abs(bend(x) / size) * slipInches : 0),
          SD,
        );
    }),
    4,
  );
  return { lines: [sweep, plumb, tilt, camber], cycle, at };
}

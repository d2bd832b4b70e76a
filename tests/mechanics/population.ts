/** The girders and survey habits that benches draw from, each from a seeded generator. */
import type { GirderOptions, GirderTruth } from './girder.ts';
import type { Random } from './random.ts';
import { type ReadingOptions, stationsAlong } from './readings.ts';

const INCH = 0.0254;
const FOOT = 0.3048;
const KSI = 6.894757293168361e6;

/** A girder of a common size, struck once or twice, straight or with an original sweep of up to span/500. */
export function randomGirder(random: Random): GirderOptions {
  const span = Math.round(random.between(40, 90)) * FOOT;
  const bays = random.integer(3, 5);
  const stiffness = 10 ** random.between(6.3, 8);
  const first = {
    station: random.between(0.2, 0.8) * span,
    patch: random.between(0.5, 2) * FOOT,
    set: INCH * 6 ** random.uniform(),
  };
  const impacts = [first];
  if (random.uniform() < 0.3) {
    for (;;) {
      const station = random.between(0.15, 0.85) * span;
      if (Math.abs(station - first.station) < 6 * FOOT) continue;
      impacts.push({
        station,
        patch: random.between(0.5, 2) * FOOT,
        set: first.set * random.between(0.6, 1.2),
      });
      break;
    }
  }
  const amplitude = random.uniform() < 0.5 ? 0 : (random.between(-1, 1) * span) / 500;
  const waves = random.uniform() < 0.75 ? 1 : 2;
  return {
    span,
    flangeWidth: Math.round(random.between(18, 32)) * 0.5 * INCH,
    flangeThickness: random.integer(10, 20) * (INCH / 16),
    yieldStress: random.pick([33, 36, 36, 50]) * KSI,
    hardening: random.between(0.003, 0.012),
    diaphragms: Array.from({ length: bays - 1 }, (_, i) => ({
      station: Math.round((span * (i + 1 + random.between(-0.06, 0.06))) / bays / INCH) * INCH,
      stiffness: stiffness * random.between(0.7, 1.4),
    })),
    impacts,
    sweep: (station) => amplitude * Math.sin((waves * Math.PI * station) / span),
  };
}

/**
 * A girder of three spans that runs on over two piers, struck once or twice in one of them: three times in ten hard by a
 * pier, so that steel yields over it. Diaphragms in every span.
 */
export function randomThreeSpans(random: Random): GirderOptions {
  const middle = Math.round(random.between(50, 90)) * FOOT;
  const side = Math.round((middle * random.between(0.6, 0.95)) / FOOT) * FOOT;
  const piers = [side, side + middle];
  const ends = [0, ...piers, 2 * side + middle];
  const span = ends[3]!;
  const stiffness = 10 ** random.between(6.3, 8);
  const bay = random.between(14, 22) * FOOT;
  const diaphragms = [0, 1, 2].flatMap((k) => {
    const [a, b] = [ends[k]!, ends[k + 1]!];
    const bays = Math.max(2, Math.round((b - a) / bay));
    return Array.from({ length: bays - 1 }, (_, i) => ({
      station: Math.round((a + ((b - a) * (i + 1 + random.between(-0.06, 0.06))) / bays) / INCH) * INCH,
      stiffness: stiffness * random.between(0.7, 1.4),
    }));
  });
  const struck = random.uniform() < 0.6 ? 1 : random.pick([0, 2]);
  const [from, to] = [ends[struck]!, ends[struck + 1]!];
  const pier = struck === 0 ? to : struck === 2 ? from : random.pick([from, to]);
  const inward = pier === from ? 1 : -1;
  const station =
    random.uniform() < 0.3
      ? pier + inward * random.between(0.04, 0.14) * (to - from)
      : from + random.between(0.2, 0.8) * (to - from);
  const first = { station, patch: random.between(0.5, 2) * FOOT, set: INCH * 4 ** random.uniform() };
  const impacts = [first];
  if (random.uniform() < 0.2) {
    for (;;) {
      const other = from + random.between(0.15, 0.85) * (to - from);
      if (Math.abs(other - station) < 6 * FOOT) continue;
      impacts.push({
        station: other,
        patch: random.between(0.5, 2) * FOOT,
        set: first.set * random.between(0.6, 1.2),
      });
      break;
    }
  }
  const amplitude = random.uniform() < 0.5 ? 0 : (random.between(-1, 1) * (to - from)) / 700;
  return {
    span,
    piers,
    flangeWidth: Math.round(random.between(20, 32)) * 0.5 * INCH,
    flangeThickness: random.integer(12, 20) * (INCH / 16),
    yieldStress: random.pick([36, 36, 50]) * KSI,
    hardening: random.between(0.003, 0.012),
    diaphragms,
    impacts,
    // Original sweep of the struck span alone: bearings were set to line.
    sweep: (at) => (at < from || at > to ? 0 : amplitude * Math.sin((Math.PI * (at - from)) / (to - from))),
    grid: 2 * INCH,
  };
}

/**
 * How a crew reads it: a spacing of 0.5 to 3 ft, often closer near the blow, sd 1/32 to 1/8 in, a rule in 16ths or
 * 8ths, a string off and tilted, up to three slips.
 */
export function randomReading(
  random: Random,
  truth: GirderTruth,
  [from, to]: readonly [number, number] = [0, truth.options.span],
): ReadingOptions {
  const { impacts } = truth.options;
  const span = to - from;
  const spacing = random.pick([0.5, 1, 1.5, 2, 2.5, 3]) * FOOT;
  const at = impacts[0]!.station;
  const near =
    random.uniform() < 0.5
      ? {
          from: Math.floor(at / FOOT - 6) * FOOT,
          to: (Math.floor(at / FOOT) + 6) * FOOT,
          spacing: spacing / 2,
        }
      : undefined;
  return {
    stations: stationsAlong(from, to, spacing, near),
    sd: INCH / 2 ** random.between(3, 5),
    rounding: random.pick([INCH / 16, INCH / 16, INCH / 8]),
    stringOffset: random.between(-2, 2) * INCH,
    stringTilt: (random.between(-2, 2) * INCH) / span,
    blunders: random.integer(0, 3),
    random: random.fork('readings'),
  };
}

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
 * How a crew reads it: a spacing of 0.5 to 3 ft, often closer near the blow, sd 1/32 to 1/8 in, a rule in 16ths or
 * 8ths, a string off and tilted, up to three slips.
 */
export function randomReading(random: Random, truth: GirderTruth): ReadingOptions {
  const { span, impacts } = truth.options;
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
    stations: stationsAlong(0, span, spacing, near),
    sd: INCH / 2 ** random.between(3, 5),
    rounding: random.pick([INCH / 16, INCH / 16, INCH / 8]),
    stringOffset: random.between(-2, 2) * INCH,
    stringTilt: (random.between(-2, 2) * INCH) / span,
    blunders: random.integer(0, 3),
    random: random.fork('readings'),
  };
}

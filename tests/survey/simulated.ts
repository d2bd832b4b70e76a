import { type Campaign, prepareCampaign, simulateCampaign } from '../mechanics/campaign.ts';
import { type GirderTruth, simulateGirder } from '../mechanics/girder.ts';
import { createRandom } from '../mechanics/random.ts';
import { stationsAlong } from '../mechanics/readings.ts';

export const INCH = 0.0254;
export const FOOT = 0.3048;
const KSI = 6.894757293168361e6;

/**
 * Truth from outside the tests of slips: an elastic-plastic beam on springs, struck, straightened and read (its own
 * checks against handbook values are in tests/mechanics). 60 ft, 4 in of set, read every 2 ft to 1/16 in.
 */
export function struckGirder(): GirderTruth {
  return simulateGirder({
    span: 60 * FOOT,
    flangeWidth: 12 * INCH,
    flangeThickness: INCH,
    yieldStress: 36 * KSI,
    hardening: 0.006,
    diaphragms: [20, 40].map((feet) => ({ station: feet * FOOT, stiffness: 1e7 })),
    impacts: [{ station: 27 * FOOT, patch: FOOT, set: 4 * INCH }],
    sweep: () => 0,
  });
}

/** Five cycles closing an eighth of the set each, with this many slips a survey. */
export function campaignOn(truth: GirderTruth, blunders: number, seed: string): Campaign {
  const model = prepareCampaign(truth);
  return simulateCampaign(model, {
    cycles: 5,
    process: { kind: 'constant', rate: model.largest / 8 },
    reading: { stations: stationsAlong(0, 60 * FOOT, 2 * FOOT), sd: INCH / 20, rounding: INCH / 16 },
    blunders: () => blunders,
    random: createRandom(seed),
  });
}

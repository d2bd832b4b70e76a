import { GIRDER, type GirderSpec } from '../tests/bench/raycast/girder.ts';

/** 40 ft. */
export const SPAN = 12.192;

/** The girder as found and after the first cycle. */
export const SCANNED: readonly GirderSpec[] = [
  { push: 0.17, tilt: 0.16, lift: 0.02 },
  { push: 0.135, tilt: 0.12, lift: 0.015 },
].map((hit) => ({
  ...GIRDER,
  span: SPAN,
  flangeWidth: 0.3048,
  flangeThickness: 0.0254,
  depth: 0.9,
  hit,
  struckAt: 5.2,
  wave: 0.002,
}));

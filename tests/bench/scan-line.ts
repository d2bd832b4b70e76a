import type { FlangeSettings } from '../../src/scan/extract-flange.ts';
import type { ScanLine } from '../../src/scan/line-frame.ts';

/** The flange of the bench, of an 18.9 m girder along x, and its four lines. */
export const FLANGE: FlangeSettings = { flangeWidth: 0.3, flangeThickness: 0.024, leastU: 0.0005 };

const base = {
  units: 'si',
  stations: [0, 18.9],
  spacing: 0.3,
  slice: 0.15,
  extent: 0.3,
  across: null,
  edge: 'positive',
} as const;
const sweep: ScanLine = {
  ...base,
  name: 'edge',
  kind: 'sweep',
  from: [0, 0.15, 0.012],
  to: [18.9, 0.15, 0.012],
  direction: [0, 1, 0],
  feature: 'edge',
  reach: 0.9,
  band: [-0.5, 0.5],
};
const camber: ScanLine = {
  ...base,
  name: 'camber',
  kind: 'camber',
  from: [0, 0, 0],
  to: [18.9, 0, 0],
  direction: [0, 0, 1],
  feature: 'face',
  reach: 0.5,
  band: [-0.9, 0.9],
};

export const LINES: readonly ScanLine[] = [
  sweep,
  { ...sweep, name: 'other edge', from: [0, -0.15, 0.012], to: [18.9, -0.15, 0.012], edge: 'negative' },
  camber,
  { ...camber, name: 'tilt', kind: 'tilt', across: [0, 1, 0] },
];

import type { ScanLine } from '../../src/scan/line-frame.ts';

/** The line of the bench: the flange edge of an 18.9 m girder along x. */
export const LINE: ScanLine = {
  name: 'bottom-flange',
  kind: 'sweep',
  from: [0, 0.15, 0.012],
  to: [18.9, 0.15, 0.012],
  units: 'si',
  stations: [0, 18.9],
  direction: [0, 1, 0],
  feature: 'edge',
  edge: 'positive',
  across: null,
  reach: 0.5,
  band: [-0.1, 0.1],
  spacing: 0.3,
  slice: 0.15,
  extent: 0.3,
};

/** Metres in one unit of a cloud. The two feet are 2 ppm apart: no effect over one member. */
export const CLOUD_UNITS = {
  m: 1,
  cm: 0.01,
  mm: 0.001,
  in: 0.0254,
  ft: 0.3048,
  /** US survey foot, 1200/3937 m exactly. */
  'us-ft': 1200 / 3937,
} as const;

/** A unit a cloud's coordinates can be declared in. Clouds carry no unit of their own: it is always asked for. */
export type CloudUnit = keyof typeof CLOUD_UNITS;

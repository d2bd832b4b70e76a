/**
 * How much diaphragms give before readings have shown it: ln of EI/k over the cube of the distance between supports, and
 * its sd, from stiff cross frames to loose ones (our own range; common practice, no source).
 */
export const USUAL_GIVE = { log: -5.5, sd: 2 } as const;

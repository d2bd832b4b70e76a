/** Tables of an export, in order. Apart from the builders, so that the help of the command loads none of them. */
export const TABLE_NAMES = [
  'deviations',
  'movement',
  'zones',
  'rotations',
  'zone-movement',
  'readings',
] as const;

/** A stretch of steel that bent plastically one way, whatever model found it: what later surveys are fitted with. */
export interface BentStretch {
  /** First yield on either side, m. */
  readonly from: number;
  readonly to: number;
  /** Station of the largest plastic curvature, m. */
  readonly peak: number;
  /** Plastic rotation as found, rad. */
  readonly rotation: number;
  /** Deflection at each `x`, m per rad of plastic rotation, about the chord through the bearings. */
  /** Turn from one station to another that goes with a turn of 1 here but is not of it: what the web's hold bows between supports, rad. Left out: none. */
  readonly bows?: (from: number, to: number) => number;
  readonly column: (x: ArrayLike<number>) => Float64Array;
}

/** Stations every `step` from `from` to `to`, both ends included; m. At most 1000. */
export function evenStations(from: number, to: number, step: number): number[] {
  if (!(step > 0) || !(to > from) || (to - from) / step > 1000) return [];
  const stations: number[] = [];
  for (let k = 0; from + k * step < to - step * 1e-6; k++) stations.push(from + k * step);
  return [...stations, to];
}

import { describe, expect, it } from 'vitest';
import { outboardStations } from '../../src/zones/outboard-stations.ts';
import type { PooledStation } from '../../src/zones/prepare.ts';

/** Stations every 4 ft over 48 ft, one set-up tilt and offset, and a twist that runs out evenly on either side. */
function twisted(peak: number): PooledStation[] {
  const twist = (x: number) =>
    x < 8 || x > 36 ? 0 : x < 20 ? (peak * (x - 8)) / 12 : (peak * (36 - x)) / 16;
  return Array.from({ length: 13 }, (_, i) => {
    const station = 4 * i;
    const y = 0.01 + 0.0001 * station + twist(station);
    return { station, y, sd: 0.0016, count: 1, setAside: false };
  });
}

describe('stations outboard of a twist', () => {
  it('are the ends, not the long even slope most stations lie on (plane geometry: the ends were never moved)', () => {
    const kept = outboardStations(twisted(0.04), 1)!;
    expect(twisted(0.04).flatMap((s, i) => (kept[i] ? [s.station] : []))).toEqual([0, 4, 8, 36, 40, 44, 48]);
  });

  it('are all of them where nothing is twisted', () => {
    expect(outboardStations(twisted(0), 1)!.every(Boolean)).toBe(true);
  });

  it('cannot be told where the ends lie on no common line, or from five stations', () => {
    const bent = twisted(0).map((s) => (s.station === 4 ? { ...s, y: s.y + 0.05 } : s));
    expect(outboardStations(bent, 1)).toBeNull();
    expect(outboardStations(twisted(0.04).slice(0, 5), 1)).toBeNull();
  });
});

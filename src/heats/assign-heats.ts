import type { Zone } from '../analysis.ts';
import type { Line } from '../job/job.ts';
import { INCH } from '../units/factors.ts';
import type { Heat } from './heat-log.ts';
import type { LedLines } from './lead-lines.ts';

/** A line that carries zones, with the zones found. */
export interface ZonedLine {
  readonly line: Line;
  readonly zones: readonly Zone[];
}

export interface AssignedHeat {
  readonly heat: Heat;
  /** Line it was made on; null where the log does not say and it cannot be told. */
  readonly line: Line | null;
  readonly zone: Zone | null;
  /** Station of the heat, or where its zone's bend is centred, m; null where neither is known. */
  readonly station: number | null;
}

/** How far outside a zone's edges a heat still counts as inside it, m: half a foot, or twice the edge's uncertainty. */
function edgeAllowance(edgeU: number): number {
  return Math.max(6 * INCH, 2 * edgeU);
}

/**
 * Puts each heat into the zone it names, or the plastic zone its station lies in.
 *
 * @param led lines whose heats stand on another line of the same flange
 */
export function assignHeats(
  heats: readonly Heat[],
  lines: readonly ZonedLine[],
  led: LedLines = new Map(),
): AssignedHeat[] {
  const zoned = lines.filter((l) => l.zones.length > 0 && !led.has(l.line.name));
  return heats.map((heat) => {
    const name = heat.line === null ? null : (led.get(heat.line) ?? heat.line);
    const on =
      name === null
        ? zoned.length === 1
          ? zoned[0]!
          : null
        : (lines.find((l) => l.line.name === name) ?? null);
    // Lines of one flange letter their zones each for itself: a zone of the other line is looked for by its place.
    const other = name === heat.line ? undefined : lines.find((l) => l.line.name === heat.line);
    const place =
      heat.station ?? (other === undefined ? null : (zoneOf(heat, other.zones)?.core.centre ?? null));
    const zone = on === null ? null : zoneOf({ ...heat, station: place }, on.zones);
    const station = place ?? (zone === null ? null : zone.core.centre);
    return { heat, line: on?.line ?? null, zone, station };
  });
}

function zoneOf(heat: Pick<Heat, 'station' | 'zone'>, zones: readonly Zone[]): Zone | null {
  const { station } = heat;
  if (station === null) {
    return zones.find((z) => z.zone.toLowerCase() === heat.zone?.toLowerCase()) ?? null;
  }
  const inside = zones.filter(
    (z) => station >= z.from - edgeAllowance(z.fromU) && station <= z.to + edgeAllowance(z.toU),
  );
  const distance = (z: Zone) => Math.max(0, z.from - station, station - z.to);
  return inside.reduce<Zone | null>(
    (best, z) => (best === null || distance(z) < distance(best) ? z : best),
    null,
  );
}

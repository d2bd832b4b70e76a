import type { JobUnits } from '../job/job.ts';
import { INCH, KIP } from '../units/factors.ts';

/** Newton metres as kip-in or kN·m. */
export function formatMoment(newtonMetres: number, units: JobUnits): string {
  return units === 'us'
    ? `${(newtonMetres / (KIP * INCH)).toFixed(0)} kip-in`
    : `${(newtonMetres / 1000).toFixed(1)} kN·m`;
}

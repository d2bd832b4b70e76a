import type { LineAnalysis } from '../../analysis.ts';
import type { HeatsOfJob } from '../../heats/heats-of-job.ts';

/** One vee as a drawing shows it. */
export interface DrawnVee {
  /** m */
  readonly station: number;
  /** At the open end, m. */
  readonly width: number;
  /** From the open end to the apex, m. */
  readonly depth: number;
  /** Edge the apex points to: the line's positive or negative side. */
  readonly apex: 'positive' | 'negative';
}

/** Heats nearer to each other than this are drawn once: torch lines of one place, not two vees. */
const SAME_PLACE = 0.025;

/** The vees proposed next on a line, in the size planned. */
export function proposedVees(line: LineAnalysis, heats: HeatsOfJob | undefined): readonly DrawnVee[] {
  if (heats === undefined) return [];
  const { openWidth: width, depth } = heats.plan;
  return heats.layouts
    .filter((layout) => layout.line === line.line.name)
    .flatMap(({ vees }) => vees.map(({ station, apex }) => ({ station, width, depth, apex })));
}

/**
 * The vees of the heat log on a line, each place once, those whose size and zone are known. The log's words for the apex
 * are not read: a vee that straightens has its open end on the outside of the zone's bend, as the proposals have.
 */
export function heatedVees(line: LineAnalysis, heats: HeatsOfJob | undefined): readonly DrawnVee[] {
  const drawn: DrawnVee[] = [];
  for (const { heat, line: of, zone, station } of heats?.made ?? []) {
    if (of?.name !== line.line.name || zone === null || station === null || heat.pattern !== 'vee') continue;
    const { depth, angle } = heat;
    if (depth === null || (heat.width === null && angle === null)) continue;
    const width = heat.width ?? 2 * depth * Math.tan(angle! / 2);
    if (drawn.some((vee) => Math.abs(vee.station - station) < SAME_PLACE)) continue;
    const apex = zone.rotation > 0 ? 'positive' : 'negative';
    drawn.push({ station, width, depth, apex });
  }
  return drawn;
}

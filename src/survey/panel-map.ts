import type { PanelSurvey } from '../analysis.ts';
import type { JobUnits } from '../job/job.ts';
import { INCH } from '../units/factors.ts';
import { formatLength } from '../units/format-length.ts';

/** Deviation of a panel's map at a place, between nodes by straight lines, m. The place is kept inside the panel. */
export function mapAt(panel: PanelSurvey, station: number, height: number): { value: number; u: number } {
  const at = within(panel, station, height);
  const blend = (values: readonly number[]) =>
    at.corners.reduce((sum, [index, share]) => sum + share * values[index]!, 0);
  return { value: blend(panel.map.deviation), u: blend(panel.map.u) };
}

/** Whether the nearest node of the map was seen. */
export function seenAt(panel: PanelSurvey, station: number, height: number): boolean {
  const { corners } = within(panel, station, height);
  return panel.map.seen[corners.reduce((a, b) => (b[1] > a[1] ? b : a))[0]]!;
}

function within({ map }: PanelSurvey, station: number, height: number) {
  const share = (at: number, from: number, to: number, count: number) => {
    const t = Math.max(0, Math.min(1, (at - from) / (to - from))) * (count - 1);
    const i = Math.min(count - 2, Math.floor(t));
    return { i, part: t - i };
  };
  const x = share(station, map.from, map.to, map.columns);
  const y = share(height, map.low, map.high, map.rows);
  const base = y.i * map.columns + x.i;
  const corners: [number, number][] = [
    [base, (1 - x.part) * (1 - y.part)],
    [base + 1, x.part * (1 - y.part)],
    [base + map.columns, (1 - x.part) * y.part],
    [base + map.columns + 1, x.part * y.part],
  ];
  return { corners };
}

/** `30'-1" to 30'-9", heights 10 in to 20 in`; a row or a column of the grid alone is said as one place. */
export function boxText(
  box: { readonly from: number; readonly to: number; readonly low: number; readonly high: number },
  units: JobUnits,
): string {
  // To the inch or centimetre: a place on the steel, not a reading.
  const whole = (m: number) => (units === 'us' ? Math.round(m / INCH) * INCH : Math.round(m * 100) / 100);
  const at = (m: number) => formatLength(whole(m), { units, as: 'station', digits: 2 });
  const up = (m: number) => formatLength(whole(m), { units, as: 'offset', digits: 0 });
  const along = at(box.from) === at(box.to) ? at(box.from) : `${at(box.from)} to ${at(box.to)}`;
  const over =
    up(box.low) === up(box.high) ? `height ${up(box.low)}` : `heights ${up(box.low)} to ${up(box.high)}`;
  return `${along}, ${over}`;
}

/**
 * Area of what was seen that is out of flat by more than a limit, m². u: half of what it changes by when all of the map is
 * taken one standard uncertainty further out, or in.
 */
export function areaPast(
  { map }: PanelSurvey,
  limit: number,
): { readonly value: number; readonly u: number } {
  const cell = ((map.to - map.from) * (map.high - map.low)) / ((map.columns - 1) * (map.rows - 1));
  const past = (by: number) =>
    cell *
    map.deviation.reduce(
      (count, d, i) => count + (map.seen[i] && Math.abs(d) + by * map.u[i]! > limit ? 1 : 0),
      0,
    );
  return { value: past(0), u: (past(1) - past(-1)) / 2 };
}

import type { LineAnalysis } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { Job, Line } from '../job/job.ts';
import { INCH } from '../units/factors.ts';
import { formatLength } from '../units/format-length.ts';
import { placeOf } from './lines-of-section.ts';

/** An edge of a panel this near a stiffener is held by it, and a stiffener further in runs through the panel, m (common practice, no source). */
const AT_EDGE = 6 * INCH;

/** What lines and panels say against what the job says holds the steel: deck and stiffeners. */
export function heldFindings(lines: readonly LineAnalysis[], job: Pick<Job, 'member' | 'units'>): Finding[] {
  return lines.flatMap((item) => [...deckFindings(item, job), ...stiffenerFindings(item.line, job)]);
}

/** A composite deck holds the top flange along its length: a bend read in it is the line's, or the deck has let go. */
function deckFindings(item: LineAnalysis, { member, units }: Pick<Job, 'member' | 'units'>): Finding[] {
  if (member.deck !== 'composite' || placeOf(item) !== 'topSweep') return [];
  const bent = item.fit.zones.filter((zone) => zone.class === 'plastic');
  if (bent.length === 0) return [];
  const at = bent.map((zone) => formatLength(zone.core.centre, { units, as: 'station', digits: 2 }));
  return [
    {
      severity: 'caution',
      code: 'deck-held-flange-bent',
      message: `${item.line.name} shows the top flange bent sideways at ${at.join(', ')}, yet the job says a composite deck holds it there. Look at the deck over it: it has let go and must be judged by itself, or the line was not where it is said to be. The zones are worked out for a flange free between its supports and are doubtful.`,
      line: item.line.name,
      station: bent[0]!.core.centre,
    },
  ];
}

/** A panel runs from one thing that holds the web to the next. */
function stiffenerFindings(line: Line, { member, units }: Pick<Job, 'member' | 'units'>): Finding[] {
  const { panel } = line;
  const { stiffeners } = member;
  if (panel === undefined || panel.element !== 'web' || stiffeners === undefined) return [];
  const [from, to] = line.bearings;
  const say = (station: number) => formatLength(station, { units, as: 'station', digits: 2 });
  const found: Finding[] = stiffeners
    .filter(({ station }) => station > from + AT_EDGE && station < to - AT_EDGE)
    .map(({ station }) => ({
      severity: 'caution',
      code: 'panel-runs-over-stiffener',
      message: `${line.name} runs over the stiffener at ${say(station)}, which holds the web, and is taken as free between its edges: its shape and what yielded are smoothed across the stiffener. Read it as two panels, one to either side.`,
      line: line.name,
      station,
    }));
  const holds = [
    ...stiffeners.map(({ station }) => station),
    ...(member.diaphragms ?? []),
    ...(member.bearings ?? [0, member.span]),
  ];
  for (const [side, at] of [
    ['from', from],
    ['to', to],
  ] as const) {
    if (!panel.held.includes(side)) continue;
    const nearest = holds.reduce((a, b) => (Math.abs(b - at) < Math.abs(a - at) ? b : a));
    if (Math.abs(nearest - at) <= AT_EDGE) continue;
    found.push({
      severity: 'caution',
      code: 'panel-edge-not-held',
      message: `${line.name} is said to be held at its edge at ${say(at)}, but the job names no stiffener, diaphragm or bearing there (the nearest is at ${say(nearest)}, ${formatLength(Math.abs(nearest - at), { units, as: 'station', digits: 1 })} off). Correct the panel or "stiffeners": a bulge is measured from the edges that are held.`,
      line: line.name,
      station: at,
    });
  }
  return found;
}

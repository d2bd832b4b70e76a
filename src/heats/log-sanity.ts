import type { Finding } from '../finding.ts';
import type { ZoneHeats } from './zone-heats.ts';

/** Observed over expected that heats do: beyond it the log or the set-up is wrong. Our own bounds, wide of published scatter. */
const LEAST = 0.2;
const MOST = 4;

/** Zones whose heats did what heats do not do, beyond twice the u of the ratio, and what to look at. */
export function sanityFindings(zones: readonly ZoneHeats[]): Finding[] {
  return zones.flatMap((zone): Finding[] => {
    const { total } = zone;
    if (total === null || total.ratio === null || total.ratioU === null) return [];
    const [low, high] = [total.ratio - 2 * total.ratioU, total.ratio + 2 * total.ratioU];
    if (low <= MOST && high >= LEAST) return [];
    const much = low > MOST;
    const cause = much
      ? total.unjacked
        ? 'No jacking is logged here: if jacks were on, the log lacks their pressure; else heats are missing from it, or something other than heat moved the steel.'
        : 'The log is wrong: heats are missing from it, or pressures or temperatures are logged too low.'
      : total.unjacked
        ? 'Temperature, vee placement or the place of the zone is not what the log says.'
        : 'The set-up is wrong: the jacks do not bear where the job says, or the gauge, ram area or temperature is not what is written.';
    return [
      {
        severity: 'caution',
        code: much ? 'more-than-heats-do' : 'less-than-heats-do',
        message: `Zone ${zone.zone} turned ${total.ratio.toFixed(2)} ± ${(2 * total.ratioU).toFixed(2)} times what its ${total.vees} logged vees should do; heats do ${LEAST} to ${MOST} times. ${cause}`,
        line: zone.line,
        station: zone.station,
      },
    ];
  });
}

/** Findings of one kind about more rows than this become one. */
const MOST_ALIKE = 3;

/**
 * Says a thing once: identical findings become one with a count, and a kind that repeats over many rows keeps its first
 * with the rows of the others.
 */
export function saidOnce(findings: readonly Finding[]): Finding[] {
  const groups = new Map<string, Finding[]>();
  for (const finding of findings) {
    const key = [finding.severity, finding.code, finding.line ?? ''].join('\u0000');
    groups.set(key, [...(groups.get(key) ?? []), finding]);
  }
  return [...groups.values()].flatMap((group) => {
    const byMessage = new Map<string, Finding[]>();
    for (const f of group) byMessage.set(f.message, [...(byMessage.get(f.message) ?? []), f]);
    if (group.length > MOST_ALIKE) return [withRows(group)];
    return [...byMessage.values()].map((same) => (same.length === 1 ? same[0]! : withRows(same)));
  });
}

function withRows(alike: readonly Finding[]): Finding {
  const first = alike[0]!;
  const rows = alike.slice(1).flatMap((f) => (f.row === undefined ? [] : [f.row]));
  const where =
    rows.length === 0
      ? ''
      : `: rows ${rows.slice(0, 8).join(', ')}${rows.length > 8 ? ` and ${rows.length - 8} more` : ''}`;
  return { ...first, message: `${first.message} ${alike.length} like this${where}.` };
}

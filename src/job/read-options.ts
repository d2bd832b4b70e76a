import type { ReadOptions } from '../read/read-options.ts';
import type { Job } from './job.ts';
import { memberExtent, overhang, runsAlongMember } from './member-extent.ts';

/** What the reader of a file of readings must know of its job. */
export function readOptions(job: Job, file: string, line?: string): ReadOptions {
  const { from, to } = memberExtent(job);
  const slack = overhang(job.member.span);
  return {
    file,
    units: job.units,
    dashed: job.dashedLengths,
    lines: job.lines.map((entry) => ({
      name: entry.name,
      kind: entry.kind,
      ...(entry.panel === undefined
        ? {
            from: runsAlongMember(entry) ? from - slack : Number.NEGATIVE_INFINITY,
            to: runsAlongMember(entry) ? to + slack : Number.POSITIVE_INFINITY,
            said: [from, to] as const,
          }
        : { ...panelExtent(entry.bearings), said: entry.bearings, heights: entry.panel.heights }),
    })),
    ...(line === undefined ? {} : { line }),
  };
}

/** A reading just past the edge of a panel is still one of it; further off, unit or panel is wrong. */
function panelExtent([from, to]: readonly [number, number]): { from: number; to: number } {
  const slack = 0.1 * (to - from);
  return { from: from - slack, to: to + slack };
}

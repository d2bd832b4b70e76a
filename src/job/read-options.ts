import type { ReadOptions } from '../read/read-options.ts';
import type { Job } from './job.ts';
import { memberExtent, overhang, runsAlongMember } from './plausible.ts';

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
      from: runsAlongMember(entry) ? from - slack : Number.NEGATIVE_INFINITY,
      to: runsAlongMember(entry) ? to + slack : Number.POSITIVE_INFINITY,
      said: [from, to],
    })),
    ...(line === undefined ? {} : { line }),
  };
}

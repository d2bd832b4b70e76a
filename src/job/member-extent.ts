import type { Job, Line } from './job.ts';

/** Kinds whose stations run along the member (a `bulge` straight-edge may stand anywhere on a panel). */
export function runsAlongMember(line: Pick<Line, 'kind'>): boolean {
  return line.kind !== 'bulge';
}

/** First and last station that can be on the member, m: its span and the bearings of its lines. */
export function memberExtent(job: Pick<Job, 'member' | 'lines'>): { from: number; to: number } {
  const along = job.lines.filter(runsAlongMember);
  const own = job.member.bearings;
  const firsts = [...along.map((line) => line.bearings[0]), ...(own === undefined ? [] : [own[0]!])];
  const lasts = [...along.map((line) => line.bearings[1]), ...(own === undefined ? [] : [own.at(-1)!])];
  // Road stationing (12+06.5) does not start at the member's end: then only the bearings say where it is.
  const onOwnStations = firsts.length === 0 || Math.min(...firsts) < job.member.span;
  return {
    from: Math.min(...firsts, ...(onOwnStations && own === undefined ? [0] : [])),
    to: Math.max(...lasts, ...(onOwnStations && own === undefined ? [job.member.span] : [])),
  };
}

/** How far past the bearings steel can still be measured, m: a girder runs a little over its bearings. Common practice, no source. */
export function overhang(span: number): number {
  return Math.max(0.6, 0.05 * span);
}

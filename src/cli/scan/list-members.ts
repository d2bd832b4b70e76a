import { InputError } from '../../input-error.ts';
import type { Job, Line } from '../../job/job.ts';
import { type FoundMember, memberFinder } from '../../scan/find-members.ts';
import { lineFromPicks, UPRIGHTS } from '../../scan/from-picks.ts';
import type { CloudUnit } from '../../scan/units.ts';
import { formatLength } from '../../units/format-length.ts';
import type { Io } from '../io.ts';
import { shellWord } from '../shell-word.ts';
import { readJobFile } from '../store/read-job-file.ts';
import { alignedSink } from './align-to.ts';
import type { CloudRequest } from './cloud-request.ts';
import { readWithBar } from './read-cloud.ts';
import { cloudText } from './scan-text.ts';

/** Most that are followed to see whether they are flanges: each keeps the points around it. */
const MOST = 4;

/** Looks for flanges as long and wide as the job says, and lists them with picks to use. Imports nothing. */
export async function listMembers(
  io: Io,
  request: CloudRequest & { readonly line: string | null; readonly json: boolean },
): Promise<void> {
  const job = readJobFile(request.job);
  const line = lineWanted(job, request.line);
  const finder = memberFinder({
    width: job.member.flangeWidth,
    length: line.bearings[1] - line.bearings[0],
    units: request.units as CloudUnit | null,
  });
  const cloud = await readWithBar(io, request.cloud, request, finder.sink);
  const members = finder.found().slice(0, MOST);
  const settings = {
    flangeWidth: job.member.flangeWidth,
    flangeThickness: job.member.flangeThickness,
    leastU: 0,
    registration: null,
  };
  const followers = members.map((member) =>
    lineFromPicks(
      job,
      line,
      { ...member, stations: null, positive: null, more: {} },
      settings,
      [],
      UPRIGHTS.slice(0, 1),
    ),
  );
  if (followers.length > 0)
    await readWithBar(
      io,
      request.cloud,
      request,
      alignedSink(
        null,
        1,
        followers.map((each) => each.sink),
      ),
    );
  const followed = members.flatMap((member, i) => {
    try {
      const found = followers[i]!.found();
      // Ground and growth may have a strip as wide, but nothing on it that reads.
      return found.farthest === null ? [] : [{ ...member, found, farthest: found.farthest }];
    } catch (error) {
      // What cannot be followed as this flange is another thing.
      if (error instanceof InputError) return [];
      throw error;
    }
  });
  // A cloud has one unit: that of the likeliest flange.
  // The one farthest from straight first: it is the struck one that is looked for.
  const bend = (each: (typeof followed)[number]) => Math.abs(each.farthest.offset);
  const flanges = followed
    .filter((each) => each.units === followed[0]!.units)
    .sort((a, b) => bend(b) - bend(a));
  if (request.json) {
    io.out(
      `${JSON.stringify({ schema: 'sweepbook/members/1', line: line.name, members: flanges.map(({ found, ...member }) => member) }, null, 2)}\n`,
    );
    return;
  }
  io.out(cloudText(request.cloud.split(/[/\\]/).at(-1)!, cloud));
  if (flanges.length === 0) {
    throw new InputError('no flange was found in this cloud', [
      {
        file: 'cloud',
        found:
          members.length === 0
            ? 'nothing that looks like one'
            : `${members.length === 1 ? 'one strip' : `${members.length} strips`} that could be one, but could not be followed and read from end to end`,
        expected: `a flange ${formatLength(job.member.flangeWidth, { units: job.units, as: 'offset' })} wide over ${formatLength(line.bearings[1] - line.bearings[0], { units: job.units, as: 'station' })}, straight over a quarter of it, in a cloud whose z axis is up; otherwise click two points and give --from and --to`,
      },
    ]);
  }
  flanges.forEach((each, i) => {
    io.out(memberText(each, i, job));
  });
  const [first] = flanges;
  io.err(
    'The ends are where the steel seen ends, half the difference to the line at each: the bearings are yours to check.\n' +
      `Next: sweepbook scan ${shellWord(request.cloud)} --job ${shellWord(request.jobGiven)} --cycle ${request.cycle} --line ${shellWord(line.name)} --from ${picked(first!.from)} --to ${picked(first!.to)} --preview\n`,
  );
}

/** A point as picks are given; a hair is nothing to a pick. */
const picked = (point: readonly number[]): string => point.map((v) => Number(v.toFixed(4))).join(',');

function memberText(
  member: FoundMember & { readonly farthest: { station: number; offset: number } },
  i: number,
  job: Job,
): string {
  const { farthest } = member;
  const station = (m: number) => formatLength(m, { units: job.units, as: 'station', fraction: 2, digits: 1 });
  const out = `farthest from straight ${formatLength(Math.abs(farthest.offset), { units: job.units, as: 'offset' })} at ${station(farthest.station)}`;
  return `${i + 1}. flange seen over ${station(member.length)}, straight over ${Math.round(100 * member.straight)} % of it, coordinates in ${member.units}; ${out}\n   --from ${picked(member.from)} --to ${picked(member.to)}\n`;
}

function lineWanted(job: Job, name: string | null): Line {
  const sweeps = job.lines.filter((each) => each.kind === 'sweep' && (name === null || each.name === name));
  if (sweeps.length > 0) return sweeps[0]!;
  throw new InputError('there is no line to look for', [
    {
      file: 'options',
      column: '--line',
      found: name === null ? 'a job without a sweep line' : `no sweep line "${name}"`,
      expected: 'a sweep line along a flange',
    },
  ]);
}

import { basename } from 'node:path';
import { InputError } from '../../input-error.ts';
import type { Job, Line } from '../../job/job.ts';
import { type FoundMember, memberFinder } from '../../scan/find-members.ts';
import { lineFromPicks, UPRIGHTS } from '../../scan/from-picks.ts';
import { CLOUD_UNITS, type CloudUnit } from '../../scan/units.ts';
import { scale } from '../../scan/vector.ts';
import { formatLength } from '../../units/format-length.ts';
import type { Io } from '../io.ts';
import { shellWord } from '../shell-word.ts';
import { REPORTS_FOLDER } from '../store/layout.ts';
import { readJobFile } from '../store/read-job-file.ts';
import { sheetPath, writeSheet } from '../write-sheet.ts';
import { alignedSink } from './align-to.ts';
import type { CloudRequest } from './cloud-request.ts';
import { readWithBar } from './read-cloud.ts';
import { cloudText } from './scan-text.ts';

/** Most that are followed to see whether they are flanges: each keeps the points around it. */
const MOST = 4;

/** Looks for flanges as long and wide as the job says, and lists them with picks to use. Imports nothing. */
export async function listMembers(
  io: Io,
  request: CloudRequest & {
    readonly line: string | null;
    readonly json: boolean;
    /** Where to draw them; true: the usual place; null: nowhere. */
    readonly preview: string | true | null;
    readonly tool: string;
  },
): Promise<void> {
  const job = readJobFile(request.job);
  // Asked before a large cloud is read.
  const drawing =
    request.preview === null
      ? null
      : sheetPath(
          request.job,
          `${REPORTS_FOLDER}/scan-flanges-cycle-${request.cycle}.html`,
          request.preview === true ? undefined : request.preview,
          io,
        );
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
  if (drawing !== null && flanges.length > 0) await draw(drawing);
  if (request.json) {
    io.out(
      `${JSON.stringify({ schema: 'sweepbook/members/1', line: line.name, members: flanges.map(({ found, ...member }) => member) }, null, 2)}\n`,
    );
    return;
  }
  io.out(cloudText(basename(request.cloud), cloud));
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
    io.out(`${i + 1}. ${memberWords(each, job)}\n   ${picksText(each)}\n`);
  });
  const [first] = flanges;
  // What the cloud was read with now it is read with next.
  const how = [
    ...(request.columns === null ? [] : [` --columns ${shellWord(request.columns.join(','))}`]),
    ...(request.staleBounds ? [' --stale-bounds'] : []),
  ].join('');
  io.err(
    'The ends are where the steel seen ends, half the difference to the line at each: the bearings are yours to check.\n' +
      `Next: sweepbook scan ${shellWord(request.cloud)}${how} --job ${shellWord(request.jobGiven)} --cycle ${request.cycle} --line ${shellWord(line.name)} --from ${picked(first!.from)} --to ${picked(first!.to)} --preview\n`,
  );

  async function draw(path: string): Promise<void> {
    const { renderMembersPreview, samplePoints } = await import('../../report/members-preview.ts');
    const metres = CLOUD_UNITS[flanges[0]!.units];
    const shown = flanges.map((each) => ({
      from: scale(each.from, metres),
      to: scale(each.to, metres),
      words: memberWords(each, job),
      picks: picksText(each),
    }));
    const text = renderMembersPreview(job, shown, samplePoints(finder.sample(), metres), {
      generated: io.now().toISOString().slice(0, 10),
      tool: request.tool,
      cloud: { name: basename(request.cloud), sha256: cloud.sha256, points: cloud.points },
      cycle: request.cycle,
    });
    await writeSheet(request.job, path, text);
    io.err(`Drawing: ${path}\n`);
  }
}

/** A point as picks are given; a hair is nothing to a pick. */
const picked = (point: readonly number[]): string => point.map((v) => Number(v.toFixed(4))).join(',');

type Followed = FoundMember & { readonly farthest: { station: number; offset: number } };

function memberWords(member: Followed, job: Job): string {
  const { farthest } = member;
  const station = (m: number) => formatLength(m, { units: job.units, as: 'station', fraction: 2, digits: 1 });
  const out = `farthest from straight ${formatLength(Math.abs(farthest.offset), { units: job.units, as: 'offset' })} at ${station(farthest.station)}`;
  return `flange seen over ${station(member.length)}, straight over ${Math.round(100 * member.straight)} % of it, coordinates in ${member.units}; ${out}`;
}

const picksText = ({ from, to }: FoundMember): string => `--from ${picked(from)} --to ${picked(to)}`;

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

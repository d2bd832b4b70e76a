import { basename } from 'node:path';
import { inertText } from '../../inert-text.ts';
import { InputError } from '../../input-error.ts';
import type { Job, JobUnits, Line } from '../../job/job.ts';
import { readDate } from '../../read/cells.ts';
import type { BulgeDocument } from '../../report/bulge-document.ts';
import { bulgeReadingsCsv } from '../../scan/bulge-csv.ts';
import { type BulgeMap, mapBulge } from '../../scan/bulge-map.ts';
import { panelPlaceU } from '../../scan/panel.ts';
import { CLOUD_UNITS } from '../../scan/units.ts';
import { formatLength, formatUncertainty } from '../../units/format-length.ts';
import type { Io } from '../io.ts';
import { readJobFile } from '../store/read-job-file.ts';
import { alignedSink, alignTo } from './align-to.ts';
import type { CloudRequest } from './cloud-request.ts';
import { findSetUp } from './find-set-up.ts';
import { keepPanel } from './panel-files.ts';
import { readWithBar } from './read-cloud.ts';
import { cloudText } from './scan-text.ts';
import { keepSurvey } from './take-scan.ts';

export interface BulgeRequest extends CloudRequest {
  readonly panel: string | null;
  readonly json: boolean;
  /** Insists on the job's panel of that name; without, a panel the job does not have is only mapped. */
  readonly readings: boolean;
}

/** Reads the cloud once and maps every panel asked for. */
export async function takeBulge(io: Io, request: BulgeRequest): Promise<void> {
  const job = readJobFile(request.job);
  const date = readDate(request.date ?? '');
  if (!('value' in date)) {
    throw new InputError('an option could not be used', [
      { file: 'options', column: '--date', found: request.date!, expected: date.expected },
    ]);
  }
  const setUp = findSetUp(io, job, 'panels', request);
  const panels = request.panel === null ? setUp.panels : setUp.panels.filter((p) => p.name === request.panel);
  if (panels.length === 0) {
    throw new InputError('no panel to map', [
      {
        file: 'scan set-up',
        found: request.panel === null ? 'no panels' : `no panel "${request.panel}"`,
        expected: 'panels with corners and positive',
      },
    ]);
  }
  const homes = panels.map(({ name }) => panelOfJob(job, name, request.readings));
  const metres = CLOUD_UNITS[setUp.units];
  const mappers = panels.map((panel) => mapBulge(panel, metres));
  const how = { ...request, columns: request.columns ?? setUp.columns };
  const aligned = await alignTo(io, request, how, setUp, job.units);
  const sinks = mappers.map((each) => each.sink);
  const cloud = await readWithBar(io, request.cloud, how, alignedSink(aligned, metres, sinks));
  const source = { name: basename(request.cloud), sha256: cloud.sha256 };
  const documents = mappers.map(
    (each, i): BulgeDocument => ({
      schema: 'sweepbook/bulge/1',
      cycle: request.cycle,
      date: date.value,
      source,
      alignment:
        aligned === null
          ? null
          : {
              reference: aligned.reference,
              words: aligned.words,
              placeU: finiteOrNull(panelPlaceU(aligned.alignment, panels[i]!, metres)),
            },
      map: each.map(),
    }),
  );
  const kept: { json: string; csv: string }[] = [];
  for (const document of documents)
    kept.push(
      await keepPanel(request.job, document, job.units, () => io.now().toISOString(), request.waitMs),
    );
  const surveys: (string | undefined)[] = [];
  for (const [i, line] of homes.entries()) {
    if (line === null) {
      surveys.push(undefined);
      continue;
    }
    const { map } = documents[i]!;
    const csv = bulgeReadingsCsv(map, line, job.units, { cycle: request.cycle, date: date.value, source });
    const named = `${line.name.replace(/[^\p{L}\p{N}._-]+/gu, '-')}-${source.name}`;
    const survey = await keepSurvey(io, { ...request, state: 'released' }, job, csv, named, cloud);
    surveys.push(survey.file);
  }
  if (request.json) {
    io.out(`${JSON.stringify(documents, null, 2)}\n`);
    return;
  }
  io.out(cloudText(source.name, cloud));
  if (aligned !== null) io.out(`${aligned.words}\n`);
  documents.forEach((document, i) => {
    io.out(bulgeText(document.map, job.units));
    if (document.alignment) {
      io.out(
        `  place of the panel after alignment: standard uncertainty ${formatUncertainty(document.alignment.placeU ?? Number.NaN, job.units)}; the deviations do not depend on it, their plane rests on the panel's own edges\n`,
      );
    }
    const survey =
      surveys[i] === undefined
        ? ''
        : `; readings of panel ${inertText(document.map.panel.name)}: ${surveys[i]}`;
    io.out(`  written: ${kept[i]!.json}, ${kept[i]!.csv}${survey}\n`);
  });
}

/** The job's panel a map is taken for; null where it has none of that name. @throws InputError where it must have one */
function panelOfJob(job: Job, name: string, must: boolean): Line | null {
  const panels = job.lines.filter((line) => line.panel !== undefined);
  const line = panels.find((each) => each.name === name);
  if (line !== undefined) return line;
  if (!must) return null;
  throw new InputError('nothing was mapped.', [
    {
      file: 'job.json',
      column: 'panels',
      found: `no panel "${name}"`,
      expected:
        panels.length === 0 ? 'a panel of that name' : `one of ${panels.map((each) => each.name).join(', ')}`,
    },
  ]);
}

const finiteOrNull = (value: number): number | null => (Number.isFinite(value) ? value : null);

function bulgeText(map: BulgeMap, units: JobUnits): string {
  const small = (m: number) => formatLength(m, { units, as: 'offset' });
  const { largest, extent, curvature, rejected } = map;
  const count = (n: number) => n.toLocaleString('en-US');
  return [
    `Panel ${inertText(map.panel.name)}: largest bulge ${largest.lowerBound === true ? 'at least ' : ''}${small(largest.deviation)} (standard uncertainty ${formatUncertainty(largest.sd, units)})`,
    ...(largest.lowerBound === true
      ? ['  it stands beside a hole or a part not seen, where it can be more']
      : []),
    `  ${small(largest.u)} from corner 1 toward 2, ${small(largest.v)} toward 4; at least half of it over ${small(extent.along)} by ${small(extent.up)}`,
    `  radius of curvature there ${formatLength(1 / Math.abs(curvature.greatest), { units, as: 'station' })} (mean over a circle of radius ${small(curvature.radius)})`,
    `  seen: ${Math.round(map.seen * 100)} % of the panel; points scatter ${formatUncertainty(map.scatter, units)}; held edges lie in the surface they span within ${formatUncertainty(map.planeScatter, units)}`,
    ...(map.takenOff === undefined
      ? []
      : [
          `  taken off first: lean ${small(map.takenOff.lean)}, twist ${small(map.takenOff.twist)}, bow of the held edges ${map.takenOff.bows.map((b) => `${b.edge} ${small(b.value)}`).join(', ')}`,
        ]),
    `  rejected: ${count(rejected.offSurface)} points off the surface, ${count(rejected.jumps)} on things that jump away from it, ${count(rejected.sparse)} in cells too thin or mixed, ${count(rejected.outside)} outside`,
    ...(rejected.otherFace === 0
      ? []
      : [
          `  both faces of the plate were seen, ${small(map.facesApart)} apart: the one seen more widely is mapped, ${count(rejected.otherFace)} points on the other left out`,
        ]),
    '',
  ].join('\n');
}

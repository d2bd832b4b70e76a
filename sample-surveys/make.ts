/**
 * Makes the bundled samples, byte for byte the same every time: `npm run samples`.
 * `npm run samples -- --large <folder>` makes the job that benches and timings use, somewhere else.
 */
import { createHash } from 'node:crypto';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { addFiles } from '../src/cli/store/add-files.ts';
import { appendToLedger } from '../src/cli/store/ledger.ts';
import { brickfieldRow } from './scenarios/brickfield-row.ts';
import { BROKEN_FILES, brokenReadme, SOUND_FILE } from './scenarios/broken.ts';
import { juniperLane } from './scenarios/juniper-lane.ts';
import { largeSample } from './scenarios/large.ts';
import { saltmarshRoad } from './scenarios/saltmarsh-road.ts';
import type { Sample } from './scenarios/sample.ts';
import { tanneryStreet } from './scenarios/tannery-street.ts';

const HERE = dirname(fileURLToPath(import.meta.url));

export const SAMPLES: readonly (() => Sample)[] = [juniperLane, tanneryStreet, saltmarshRoad, brickfieldRow];

/**
 * Writes one job folder, replacing what is there: job.json by hand, the readings through the store's own import, so
 * that files and ledger are what `sweepbook add` would have left.
 */
export async function writeSample(sample: Sample, into: string): Promise<string> {
  const folder = join(into, sample.folder);
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder, { recursive: true });
  const title = (sample.job as { job: string }).job;
  const id = idOf(title);
  appendToLedger(folder, { kind: 'start', job: title }, sample.started, id);
  writeFileSync(join(folder, 'job.json'), `${JSON.stringify({ id, ...sample.job }, null, 2)}\n`);
  const incoming = mkdtempSync(join(tmpdir(), 'sweepbook-samples-'));
  try {
    // What was handed in on one evening was imported together.
    for (const when of new Set(sample.files.map((file) => file.when))) {
      const paths = sample.files
        .filter((file) => file.when === when)
        .map(({ name, text }) => {
          writeFileSync(join(incoming, name), text);
          return join(incoming, name);
        });
      await addFiles(folder, paths, { setAside: false, when: () => when, waitMs: 0 });
    }
  } finally {
    rmSync(incoming, { recursive: true, force: true });
  }
  if (sample.heats !== undefined) writeFileSync(join(folder, 'heats.csv'), sample.heats);
  writeFileSync(
    join(folder, 'README.md'),
    `# ${title}\n\nThis job is invented: ${sample.story}.\nMade by \`npm run samples\`; the truth is in ../truth.md.\n`,
  );
  return folder;
}

/** An id for the job that is the same every time (RFC 9562, version 8: of our own making). */
function idOf(title: string): string {
  const hex = createHash('sha256').update(title).digest('hex');
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-8${hex.slice(13, 16)}-8${hex.slice(17, 20)}-${hex.slice(20, 32)}`;
}

/** All bundled samples into a folder, and the table of what is true of them. */
export async function makeSamples(into: string): Promise<void> {
  const samples = SAMPLES.map((make) => make());
  for (const sample of samples) await writeSample(sample, into);
  writeFileSync(join(into, 'truth.md'), truthTable(samples));
  mkdirSync(join(into, 'broken'), { recursive: true });
  for (const { name, bytes } of BROKEN_FILES) writeFileSync(join(into, 'broken', name), bytes);
  writeFileSync(join(into, 'broken', 'sound.csv'), SOUND_FILE);
  writeFileSync(join(into, 'broken', 'README.md'), brokenReadme());
}

function truthTable(samples: readonly Sample[]): string {
  return `# What is true of the samples

Every job here is invented; the shapes come from a simulated girder (\`tests/mechanics/\`), so the truth is known.
Written by \`npm run samples\`.

${samples.map(truthOf).join('\n')}`;
}

function truthOf(sample: Sample): string {
  const us = sample.units === 'us';
  const at = (metres: number) => (us ? `${(metres / 0.3048).toFixed(1)} ft` : `${metres.toFixed(2)} m`);
  const off = (metres: number) =>
    us ? `${(metres / 0.0254).toFixed(2)} in` : `${(metres * 1000).toFixed(1)} mm`;
  const blocks = Object.entries(sample.truth).map(([line, { model, truth, readings, blunders }]) => {
    const last = truth.at(-1)!;
    const first = truth[0]!;
    const zones = model.truth.zones.map(
      (zone, z) =>
        `| ${at(zone.from)} – ${at(zone.to)} | ${at(zone.core.from)} – ${at(zone.core.to)} | ${(first.rotations[z]! * 1000).toFixed(1)} | ${(last.rotations[z]! * 1000).toFixed(1)} | ${zone.strainRatio.toFixed(0)} |`,
    );
    const bow = model.truth.baseline.reduce(
      (most, value) => (Math.abs(value) > Math.abs(most) ? value : most),
      0,
    );
    const before =
      bow === 0
        ? ''
        : ` The steel was bowed ${off(bow)} before it was struck; a chord between the bearings counts that as deviation, the figures here do not.`;
    const wrong = blunders.map(
      (b) =>
        `cycle ${readings[b.index]!.cycle}, station ${at(b.station)}: ${b.kind}, off by ${off(b.change)}`,
    );
    return `Line \`${line}\`: largest deviation ${off(first.largest.deviation)} at ${at(first.largest.station)} as found, \
${off(last.largest.deviation)} at ${at(last.largest.station)} after cycle ${last.cycle}. \
Largest by cycle: ${truth.map((c) => off(c.largest.deviation).split(' ')[0]).join(', ')} ${us ? 'in' : 'mm'}.${before}
Wrong readings: ${wrong.length === 0 ? 'none' : wrong.join('; ')}.

| yielded | core (96 % of the plastic rotation) | rotation as found, mrad | at the end, mrad | strain ratio |
|---|---|---|---|---|
${zones.join('\n')}
`;
  });
  return `## ${sample.folder}

Units \`${sample.units}\`, seed \`${sample.seed}\`: ${sample.story}.

${[...blocks, sample.notes ?? ''].filter((block) => block !== '').join('\n')}`;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const large = process.argv.indexOf('--large');
  if (large === -1) await makeSamples(HERE);
  else {
    const into = process.argv[large + 1];
    if (into === undefined) throw new Error('--large needs a folder');
    console.log(await writeSample(largeSample(), into));
  }
}

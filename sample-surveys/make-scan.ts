/**
 * Makes the sample of a scanned job, byte for byte the same every time: `npx tsx sample-surveys/make-scan.ts`. A struck
 * girder is cast ray by ray (tests/bench/raycast), as found and a cycle later from another place in a frame of its own;
 * what is far from the bottom flange is cut away to keep the files small.
 */
import { mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { type GirderSpec, truthAt } from '../tests/bench/raycast/girder.ts';
import { castCloud, standsAlong } from '../tests/bench/raycast/scanner.ts';
import { createRandom } from '../tests/mechanics/random.ts';
import { lasFile, type Point } from '../tests/scan/cloud-files.ts';
import { SCANNED, SPAN } from './scanned-girder.ts';

const FOLDER = join(dirname(fileURLToPath(import.meta.url)), 'reed-lane-scan');
/** Signalled targets on the piers, in the frame of the first scan, m. */
const TARGETS: Readonly<Record<string, Point>> = {
  'west pier': [-0.4, 0.9, -0.5],
  'east pier': [12.6, 0.8, -0.6],
  'west wall': [-0.5, -1.4, -2.2],
  'east wall': [12.7, 1.9, -2.4],
};
/** The frame of the second scan: turned by 1.1 rad about the vertical, and elsewhere. */
const TURN = 1.1;
const apart = ([x, y, z]: Point): Point => [
  x * Math.cos(TURN) - y * Math.sin(TURN) + 41.7,
  x * Math.sin(TURN) + y * Math.cos(TURN) - 12.3,
  z + 3.1,
];

function cloudOf(girder: GirderSpec, seed: string): Point[] {
  const flat = castCloud(
    girder,
    { stands: standsAlong(girder, 2, 1), spacing: 0.014, noise: 0.0015, step: 0.001, mast: false },
    createRandom(seed),
  );
  const points: Point[] = [];
  for (let i = 0; i < flat.length; i += 3) {
    const [x, y, z] = [flat[i]!, flat[i + 1]!, flat[i + 2]!];
    if (y > -0.4 && y < 0.5 && z > -0.12 && z < 0.22) points.push([x, y, z]);
  }
  return points;
}

const written = (p: Point): string => p.map((v) => v.toFixed(4)).join(',');

mkdirSync(FOLDER, { recursive: true });
const [found, later] = SCANNED as [GirderSpec, GirderSpec];
const las = (points: readonly Point[]) => lasFile(points, { minor: 2, format: 0, scale: 0.0005 });
writeFileSync(join(FOLDER, 'as-found.las'), las(cloudOf(found, 'reed lane as found')));
writeFileSync(join(FOLDER, 'cycle-1.las'), las(cloudOf(later, 'reed lane cycle 1').map(apart)));
const random = createRandom('reed lane targets');
const picked = (p: Point): Point => [
  p[0] + 0.002 * random.normal(),
  p[1] + 0.002 * random.normal(),
  p[2] + 0.002 * random.normal(),
];
writeFileSync(
  join(FOLDER, 'cycle-1-targets.csv'),
  `name,x,y,z\n${Object.entries(TARGETS)
    .map(([name, p]) => `${name},${written(picked(apart(p)))}`)
    .join('\n')}\n`,
);
writeFileSync(
  join(FOLDER, 'job.json'),
  `${JSON.stringify(
    {
      job: 'Reed Lane over the mill stream, girder 1',
      units: 'us',
      member: {
        span: '40 ft',
        yieldStress: '36 ksi',
        steel: 'A36',
        flangeWidth: '12 in',
        flangeThickness: '1 in',
        diaphragms: ['10 ft', '30 ft'],
      },
      lines: {
        'bottom-flange': { kind: 'sweep', bearings: ['0 ft', '40 ft'], positive: 'toward the next girder' },
        'flange-tilt': {
          kind: 'tilt',
          bearings: ['0 ft', '40 ft'],
          positive: 'edge toward the next girder high',
          baseline: 'level',
        },
      },
      acceptance: [{ line: 'bottom-flange', limit: '1/2 in', over: 'whole line' }],
    },
    null,
    2,
  )}\n`,
);
const edge = (x: number): Point => {
  const { positive } = truthAt(found, x);
  return [x, positive.y, positive.z];
};
const round = (p: Point) => p.map((v) => Number(v.toFixed(2)));
const face = (x: number) => round([x, 0, 0]);
writeFileSync(
  join(FOLDER, 'scan.json'),
  `${JSON.stringify(
    {
      units: 'm',
      lines: {
        'bottom-flange': {
          from: round(edge(0)),
          to: round(edge(SPAN)),
          direction: [0, 1, 0],
          edge: 'positive',
          spacing: '1 ft',
        },
        'flange-tilt': {
          from: face(0),
          to: face(SPAN),
          direction: [0, 0, 1],
          across: [0, 1, 0],
          spacing: '2 ft',
        },
      },
      targets: TARGETS,
      targetSd: '2 mm',
    },
    null,
    2,
  ).replace(/\[\s+(-?[\d.]+),\s+(-?[\d.]+),\s+(-?[\d.]+)\s+\]/g, '[$1, $2, $3]')}\n`,
);
writeFileSync(
  join(FOLDER, 'README.md'),
  `# Reed Lane over the mill stream, girder 1

This job is invented: a girder cast ray by ray, scanned as found and after one cycle, the second time from a frame of its
own. Made by \`npx tsx sample-surveys/make-scan.ts\`. Try it on a copy:

    cp -r sample-surveys/reed-lane-scan reed-lane
    sweepbook scan reed-lane/as-found.las --job reed-lane --cycle 0 --preview
    sweepbook scan reed-lane/cycle-1.las --job reed-lane --cycle 1 --targets reed-lane/cycle-1-targets.csv --preview
    sweepbook status reed-lane

\`scan.json\` says where two lines lie in the first cloud and where four targets are in its coordinates;
\`cycle-1-targets.csv\` says where the second scan has them. From two clicks instead, without \`scan.json\`:

    sweepbook scan reed-lane/as-found.las --job reed-lane --cycle 0 --from 0.02,0.1,0 --to 12.18,0.1,0 --preview
`,
);

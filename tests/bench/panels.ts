/**
 * Panels against plates the fit knows nothing of: clamped plates by finite differences (uniform and point load), folded
 * roofs, cosine dents; with sway, twist, a bowed flange, reading noise and rounding, grids of 2 to 12 in and holes. Then
 * campaigns with dead days and stalls, scored as lines are. `npm run bench:panels -- --count 300 --campaigns 60`, `--quick` for
 * a minute or two; `--count 0` leaves the maps out, `--campaigns 0` the campaigns. `--fits DIR` keeps the
 * fits of the campaigns for runs that only change the verdicts. Every target stands in the table at the end.
 */
import { normalCdf } from '../../src/maths/distributions.ts';
import { keep } from './kept.ts';
import { fitPanelCampaign, judgePanelCampaign, tellMiss } from './panels-campaigns.ts';
import { diceOf, INCH, makeCase, makeFan, type Score, score } from './panels-cases.ts';
import { shareOf } from './target.ts';
import { printTallies, type Tallies } from './verdict-days-scores.ts';

const quick = process.argv.includes('--quick');
function option(name: string, fallback: number): number {
  const i = process.argv.indexOf(`--${name}`);
  return i >= 0 ? Number.parseInt(process.argv[i + 1] ?? '', 10) : fallback;
}
const count = option('count', quick ? 60 : 300);
const campaigns = option('campaigns', quick ? 12 : 60);
const particles = option('particles', quick ? 0 : 1000);
const seed = option('seed', 19);
const kept = process.argv.indexOf('--fits');
const fits = kept >= 0 ? (process.argv[kept + 1] ?? '') : '';
const dice = diceOf(seed);
const { normal } = dice;

const share = (hits: number, of: number) =>
  `${of === 0 ? '–' : ((100 * hits) / of).toFixed(1)} % (${Number.isInteger(hits) ? hits : hits.toFixed(1)}/${of})`;

const started = performance.now();
const scores = Array.from({ length: count }, () => score(makeCase(dice), normal));
/** Beside the families, not among them: what they say stands for itself. */
const fanDice = diceOf(seed + 1000);
const fans = Array.from({ length: Math.ceil(count / 3) }, () => score(makeFan(fanDice), fanDice.normal));
const inside = (s: Score) => Math.abs(s.error) <= 2 * s.u;
const allowance = (s: Score) => Math.max(0.05 * s.size, INCH / 16);
const near = (s: Score) => Math.abs(s.error) <= allowance(s);
/** A bound beside a hole is no estimate; one on a panel without a hole counts as one. */
const told = scores.filter((s) => !s.bound || !s.holed);
const mean = (of: readonly number[]) => of.reduce((a, b) => a + b, 0) / Math.max(1, of.length);
/** Share that somebody who knew the family of each bulge could have within the allowance. */
const best = (list: readonly Score[]) =>
  `${(100 * mean(list.map((s) => 2 * normalCdf(allowance(s) / s.least) - 1))).toFixed(1)} %`;
const middle = (of: readonly number[]) =>
  [...of].sort((a, b) => a - b)[Math.floor(of.length / 2)] ?? Number.NaN;
const overlapOf = (list: readonly Score[]) => middle(list.flatMap((s) => s.jaccard ?? []));
function report(title: string, list: readonly Score[]): void {
  console.log(
    `${title.padEnd(22)} crest within 2 u ${share(list.filter(inside).length, list.length)} · within max(5 %, 1/16 in) ${share(list.filter(near).length, list.length)}, at best ${best(list)} · mean error ${(mean(list.map((s) => s.error)) / INCH).toFixed(3)} in · middle u ${(middle(list.map((s) => s.u)) / INCH).toFixed(3)} in, at least ${(middle(list.map((s) => s.least)) / INCH).toFixed(3)} · yielded overlap, middle ${overlapOf(list).toFixed(2)}`,
  );
}
report('all', told);
for (const inches of [2, 3, 4, 6, 8, 12])
  report(
    `grid ${inches} in`,
    told.filter((s) => Math.abs(s.spacing - inches * INCH) < 1e-6),
  );
const fine = told.filter((s) => s.spacing < 4.5 * INCH);
report('grids of 4 in or less', fine);
for (const kind of [...new Set(scores.map((s) => s.kind))].sort())
  report(
    kind,
    told.filter((s) => s.kind === kind && s.spacing < 6.5 * INCH),
  );
for (const kind of ['fan', 'four sides'])
  report(
    kind,
    fans.filter((s) => s.kind === kind),
  );
const hidden = scores.filter((s) => s.crestInHole);
console.log(
  `crest in a hole: said to be a lower bound ${share(hidden.filter((s) => s.bound).length, hidden.length)}; bounds that are none (more than 2 u above the truth) ${share(scores.filter((s) => s.bound && s.error > 2 * s.u).length, scores.filter((s) => s.bound).length)}; good readings set aside in ${share(scores.filter((s) => s.aside > 0).length, scores.length)} of surveys`,
);

const tallies: Tallies = new Map();
for (let index = 0; index < campaigns; index++) {
  const fitted = keep(fits, `panels-${seed}-${index}`, () =>
    fitPanelCampaign(String(seed), index, particles),
  );
  const told = tellMiss(index, judgePanelCampaign(tallies, fitted));
  if (told !== null) console.log(told);
}
printTallies(tallies);

const part = (group: string, name: string) =>
  shareOf([...(tallies.get(group) ?? [])].find(([each]) => each.startsWith(name))?.[1] ?? []);
const table: Row[] = [
  ['crest within 2 u', [0.92, 0.98], told.filter(inside).length, told.length],
  [
    'crest within max(5 %, 1/16 in), grids of 4 in and less',
    [0.95, 1],
    fine.filter(near).length,
    fine.length,
  ],
  ['yielded outline, overlap in the middle, grids of 4 in and less', [0.7, 1], overlapOf(fine), null],
  ...(
    [
      ['undecided after two cycles that each moved 8g', [0, 0.02], 'all', 'after two cycles'],
      [
        '– upper end of the interval below 0.7 of the smaller',
        [0, 0.005],
        'all',
        '  upper end of the interval',
      ],
      ['80 % interval covers the rate on moving days', [0.75, 0.85], 'all', '80 % interval'],
      [
        'campaigns called stalled though one of the last three moved 2g',
        [0, 0.01],
        'all',
        'campaigns with a false stall (',
      ],
      ['true stalls called within 4 cycles, sd 1/16 in', [0.9, 1], 'sd 1/16 in', 'true stalls called'],
      ['– all sd', null, 'all', 'true stalls called'],
      [
        '– exact Bayes on the same crests, 1 % left, sd 1/16 in',
        null,
        'sd 1/16 in',
        '  called within 4 cycles by exact Bayes, 1 %',
      ],
      [
        '– its campaigns called stalled falsely',
        null,
        'all',
        'campaigns with a false stall by exact Bayes, 1 %',
      ],
      ['80 % interval of the forecast covers', [0.75, 0.85], 'all', '80 % forecast interval'],
    ] as const
  ).map(([asked, target, group, name]): Row => {
    const { count, of } = part(group, name);
    return [asked, target, count, of];
  }),
];
console.log(`\n${'asked'.padEnd(66)}${'target'.padEnd(14)}${'measured'.padEnd(22)}met`);
for (const [asked, target, hits, of] of table) {
  const value = of === null ? hits : of === 0 ? Number.NaN : hits / of;
  const met =
    target === null || Number.isNaN(value) ? '' : value >= target[0] && value <= target[1] ? 'met' : 'missed';
  console.log(
    `${asked.padEnd(66)}${targetText(target, of !== null).padEnd(14)}${(of === null ? hits.toFixed(2) : share(hits, of)).padEnd(22)}${met}`,
  );
}
console.log(`${((performance.now() - started) / 1000).toFixed(0)} s`);

/** What is asked, its target from and to (null: none), and how many hits of how many; a number of its own where `of` is null. */
type Row = readonly [string, readonly [number, number] | null, number, number | null];

function targetText(target: Row[1], inPercent: boolean): string {
  if (target === null) return '';
  const [low, high] = target.map((end) => (inPercent ? `${+(100 * end).toFixed(1)} %` : `${end}`));
  return target[0] === 0 ? `≤ ${high}` : target[1] === 1 ? `≥ ${low}` : `${low} to ${high}`;
}

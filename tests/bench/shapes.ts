/**
 * Bent lines drawn by hand (tests/shapes): shapes the model of the steel was not made for. Good readings are to stay,
 * wrong ones are to be found. `npm run bench:shapes -- --count 60 --seed shapes`
 */
import { handMade } from '../shapes/hand-made.ts';
import { type ShapeScore, scoreShape } from '../shapes/score.ts';

function option(name: string, fallback: string): string {
  const i = process.argv.indexOf(`--${name}`);
  return i >= 0 ? (process.argv[i + 1] ?? fallback) : fallback;
}

const count = Number.parseInt(option('count', '60'), 10);
const seed = option('seed', 'shapes');
const verbose = process.argv.includes('--verbose');
const scores: (ShapeScore & { readonly given: boolean; readonly doubt: boolean })[] = [];
const started = performance.now();
for (let i = 0; i < count; i++) {
  const given = i % 2 === 0;
  const slips = i % 3 === 0 ? 2 : i % 3 === 1 ? 1 : 0;
  const job = handMade(`${seed}/${i}`, { noisy: i % 4 < 2, diaphragms: given, slips });
  const t = performance.now();
  const score = scoreShape(job);
  const doubt = score.fit.doubt !== undefined;
  scores.push({ ...score, given, doubt });
  if (verbose || score.goodAside.length > 0 || score.missed.length > 0)
    console.log(
      `${i} ${job.what}; ${given ? 'diaphragms' : 'no diaphragms'}, ${i % 4 < 2 ? 'rounded' : 'clean'}, ${doubt ? 'doubtful, ' : ''}${Math.round(performance.now() - t)} ms` +
        `${score.goodAside.length > 0 ? `; good set aside ${score.goodAside.join(' ')}` : ''}${score.missed.length > 0 ? `; missed ${score.missed.join(', ')}` : ''}`,
    );
}
for (const [title, list] of [
  ['all', scores],
  ['diaphragms given', scores.filter((s) => s.given)],
  ['not given', scores.filter((s) => !s.given)],
] as const) {
  const sum = (f: (s: ShapeScore) => number) => list.reduce((total, s) => total + f(s), 0);
  const share = (a: number, b: number) => `${b === 0 ? '–' : ((100 * a) / b).toFixed(2)} % (${a}/${b})`;
  console.log(
    `${title}: jobs with a good reading set aside ${share(list.filter((s) => s.goodAside.length > 0).length, list.length)} · good readings set aside ${share(
      sum((s) => s.goodAside.length),
      sum((s) => s.good),
    )} · slips found ${share(
      sum((s) => s.caught),
      sum((s) => s.slips),
    )} · said to be doubtful ${share(list.filter((s) => s.doubt).length, list.length)}`,
  );
}
console.log(`mean ${((performance.now() - started) / count).toFixed(0)} ms a job`);

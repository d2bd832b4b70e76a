/** The worst cases of the verdict benchmark, and one campaign cycle by cycle. */
import { nominalRate } from '../mechanics/campaign.ts';
import { TOLERANCE, USEFUL_GAIN } from './verdict-cases.ts';
import { isFalseStall, isFalseWithin, type Outcome, type Step } from './verdict-outcome.ts';

const INCH = 0.0254;
const SHOWN = 5;

export function printWorst(list: readonly Outcome[]): void {
  console.log('\nworst cases (run one again with --start INDEX --count 1 --verbose)');
  const pairs = list.flatMap((o) => o.steps.map((s) => [o, s] as const));
  show(
    'stalled at the highest true rate',
    pairs
      .filter(([, s]) => isFalseStall(s))
      .sort((a, b) => b[1].settledRate - a[1].settledRate || b[1].rate - a[1].rate),
  );
  show(
    'within tolerance furthest outside',
    pairs.filter(([, s]) => isFalseWithin(s)).sort((a, b) => b[1].truth - a[1].truth),
  );
  show(
    'progressing the longest after a stall',
    pairs
      .filter(([, s]) => s.word === 'progressing' && s.rate === 0 && s.truth > TOLERANCE)
      .sort((a, b) => b[1].sinceChange - a[1].sinceChange),
  );
  const missed = list.filter(
    (o) => o.stall !== null && (o.stall.called === null || o.stall.called - o.stall.from > 4),
  );
  console.log(`  stalls not called within 4 cycles: ${missed.length}`);
  const sight = (o: Outcome) => o.steps.find((s) => s.cycle === o.stall!.from + 4)!.known.below;
  for (const o of [...missed].sort((a, b) => sight(b) - sight(a)).slice(0, SHOWN)) {
    const before = nominalRate(o.one.process, o.stall!.from) / USEFUL_GAIN;
    console.log(
      `    ${o.index} ${o.one.kind}, sd ${sdOf(o)}, stall from cycle ${o.stall!.from}, rate before ${before.toFixed(1)} g, called ${o.stall!.called ?? 'never'}, below g by who knows ${(100 * sight(o)).toFixed(0)} %`,
    );
  }
}

function show(title: string, found: readonly (readonly [Outcome, Step])[]): void {
  console.log(`  ${title}: ${found.length === 0 ? 'none' : ''}`);
  for (const [o, s] of found.slice(0, SHOWN)) {
    console.log(
      `    ${o.index} ${o.one.kind}, sd ${sdOf(o)}, cycle ${s.cycle} of ${o.one.cycles}: true ${inches(s.truth)}, rate ${(s.rate / USEFUL_GAIN).toFixed(1)} g, u ${inches(s.u)}, ${s.word}`,
    );
  }
}

export function printCampaign(o: Outcome): void {
  console.log(`\n${o.index} ${o.one.kind} sd ${sdOf(o)}, ${JSON.stringify(o.one.process)}`);
  for (const s of o.steps) {
    const left =
      s.left === null
        ? '–'
        : `${s.left.low.toFixed(1)} ${s.left.expected.toFixed(1)} ${s.left.high?.toFixed(1) ?? 'never'}`;
    console.log(
      `  ${String(s.cycle).padStart(3)} true ${inches(s.truth)} rate ${(s.rate / USEFUL_GAIN).toFixed(2)} g u ${inches(s.u)} ${s.word.padEnd(17)} left ${left} (true ${s.trueLeft.toFixed(1)})`,
    );
  }
}

function sdOf(o: Outcome): string {
  return `1/${Math.round(INCH / o.one.sd)} in`;
}

function inches(metres: number): string {
  return `${(metres / INCH).toFixed(3)} in`;
}

/**
 * How often lines that check each other are wrong about a job without a fault, and how often they name a slip and its cause:
 * campaigns of `tests/member/campaigns.ts`. `-- --count 3000` takes about a quarter of a minute.
 */
import { parseArgs } from 'node:util';
import { crossChecks } from '../../src/member/cross-checks.ts';
import { linesOfSection } from '../../src/member/lines-of-section.ts';
import { MEMBER } from '../line-fit-builder.ts';
import { campaign, type Slip } from '../member/campaigns.ts';

const { values } = parseArgs({ options: { count: { type: 'string', default: '300' } } });
const count = Number(values.count);
const SLIPS: readonly (readonly [Slip, string])[] = [
  ['string-end', 'string-end'],
  ['level-misread', 'misread'],
  ['plumb-misread', 'misread'],
  ['level-zero', 'zero'],
  ['top-flange', 'top-flange'],
  ['flange-twisted', 'other-side'],
  ['plumb-side', 'other-side'],
  ['camber-low', 'below-lift'],
];
/** Of a member whose plumb nobody read, under a deck: the sweep tells the lean. */
const SLIPS_WITHOUT_PLUMB = SLIPS.filter(([slip]) =>
  ['level-misread', 'level-zero', 'flange-twisted', 'camber-low'].includes(slip),
);
const found = (seed: number, slip: Slip, inches: number, plumb = true) =>
  crossChecks(
    linesOfSection(campaign(seed, slip, inches).lines.filter(({ line }) => plumb || line.kind !== 'plumb')),
    { member: plumb ? MEMBER : { ...MEMBER, deck: 'composite' } },
  );
const seeds = Array.from({ length: count }, (_, seed) => seed);

for (const plumb of [true, false]) {
  const wrong = seeds.filter((seed) => found(seed, 'none', 0, plumb).length > 0).length;
  console.log(`${plumb ? '' : 'no plumb, under a deck, '}without a fault: ${wrong} of ${count} called wrong`);
  for (const [slip, cause] of plumb ? SLIPS : SLIPS_WITHOUT_PLUMB)
    for (const inches of [0.5, 1]) {
      const some = seeds.slice(0, Math.ceil(count / 10));
      const named = some.filter((seed) =>
        found(seed, slip, inches, plumb).some((one) => one.cause === cause),
      ).length;
      console.log(`${slip} of ${inches} in: ${named} of ${some.length} named`);
    }
}

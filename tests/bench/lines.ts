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
const found = (seed: number, slip: Slip, inches: number) =>
  crossChecks(linesOfSection(campaign(seed, slip, inches).lines), { member: MEMBER });
const seeds = Array.from({ length: count }, (_, seed) => seed);

const wrong = seeds.filter((seed) => found(seed, 'none', 0).length > 0).length;
console.log(`without a fault: ${wrong} of ${count} called wrong`);
for (const [slip, cause] of SLIPS)
  for (const inches of [0.5, 1]) {
    const some = seeds.slice(0, Math.ceil(count / 10));
    const named = some.filter((seed) => found(seed, slip, inches).some((one) => one.cause === cause)).length;
    console.log(`${slip} of ${inches} in: ${named} of ${some.length} named`);
  }

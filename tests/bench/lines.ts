/**
 * How often lines that check each other are wrong about a job without a fault, and how often they name a slip and its cause:
 * campaigns of `tests/member/campaigns.ts`. `-- --count 3000` takes about a quarter of a minute.
 */
import { parseArgs } from 'node:util';
import { crossChecks } from '../../src/member/cross-checks.ts';
import { linesOfSection } from '../../src/member/lines-of-section.ts';
import { FOOT } from '../../src/units/factors.ts';
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

/** Stiffeners fitted to the flange at every other mark (8 ft), where the web cannot fold: said in the job, or not. */
const STIFFENED = Array.from({ length: 8 }, (_, i) => 8 * i);
for (const told of [true, false]) {
  const member = told
    ? {
        ...MEMBER,
        stiffeners: STIFFENED.map((feet) => ({ station: feet * FOOT, holds: 'bottom-flange' as const })),
      }
    : MEMBER;
  const named = (seed: number, slip: Slip, inches: number) => {
    const { lines, cycle, at } = campaign(seed, slip, inches, STIFFENED);
    return crossChecks(linesOfSection(lines), { member }).filter(
      (one) =>
        slip === 'none' ||
        (one.check === 'tilt-plumb' &&
          one.cause === 'misread' &&
          one.cycle === cycle &&
          Math.abs(one.station - at * FOOT) < 1e-6),
    );
  };
  const at = seeds
    .filter((seed) => STIFFENED.includes(campaign(seed, 'level-misread', 0.5, STIFFENED).at))
    .slice(0, Math.ceil(count / 10));
  console.log(
    `stiffeners ${told ? 'said' : 'there, not said'}: without a fault ${seeds.filter((seed) => named(seed, 'none', 0).length > 0).length} of ${count} called wrong; level-misread of 0.5 in at one: ${at.filter((seed) => named(seed, 'level-misread', 0.5).length > 0).length} of ${at.length} named`,
  );
}

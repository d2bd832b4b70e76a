/**
 * `npm run bench:heats [-- girders]`: how often the 80 % interval of cycles left to straight holds the truth, on simulated
 * girders whose every zone is heated at a constant rate with 25 % scatter until it is straight. The estimate is made
 * after cycle 7 from the readings alone, by the whole pipeline. Truth: the first later cycle at which no more than 3 %
 * of the zone's rotation is left.
 */
import { analyse } from '../../src/analyse.ts';
import { heatsOfJob } from '../../src/heats/heats-of-job.ts';
import { prepareCampaign, simulateCampaign } from '../mechanics/campaign.ts';
import { simulateGirder } from '../mechanics/girder.ts';
import { jobOf } from '../mechanics/job.ts';
import { randomGirder, randomReading } from '../mechanics/population.ts';
import { createRandom } from '../mechanics/random.ts';

const GIRDERS = Number(process.argv[2] ?? 40);
const SEEN = 7;
/** A zone found further than this from every true one is left out, and counted, m. */
const NEAR = 1.2;

let held = 0;
let judged = 0;
let missed = 0;
let endless = 0;
for (let i = 0; i < GIRDERS; i++) {
  const random = createRandom(9000 + i);
  const truth = simulateGirder(randomGirder(random));
  const model = prepareCampaign(truth);
  const campaign = simulateCampaign(model, {
    cycles: 30,
    process: { kind: 'constant', rate: model.largest / random.between(12, 20) },
    scatter: 0.25,
    reading: randomReading(random, truth),
    random,
  });
  const readings = campaign.readings.filter((reading) => reading.cycle <= SEEN);
  const heats = heatsOfJob(analyse(jobOf(truth), readings), { heats: [], gasUnit: null, currency: null });
  for (const zone of heats.zones) {
    const distances = truth.zones.map((z) => Math.abs((z.from + z.to) / 2 - zone.station));
    const nearest = distances.indexOf(Math.min(...distances));
    const found = campaign.truth[0]!.rotations[nearest]!;
    const straight = campaign.truth.find(
      (c) => c.cycle > SEEN && c.rotations[nearest]! * Math.sign(found) <= 0.03 * Math.abs(found),
    );
    if (distances[nearest]! > NEAR || straight === undefined) {
      missed++;
      continue;
    }
    judged++;
    const needed = straight.cycle - SEEN;
    const { low, high } = zone.left;
    if (low !== null && high === null) endless++;
    if (low !== null && needed >= low && (high === null || needed <= high)) held++;
  }
}
console.log(
  `${GIRDERS} girders, ${judged} zones judged (${missed} zones left out): the 80 % interval held the truth in ${held} (${((100 * held) / judged).toFixed(0)} %); ${endless} intervals were open ended`,
);

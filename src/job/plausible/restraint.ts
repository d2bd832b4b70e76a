import type { Job, Restraint } from '../job.ts';
import type { Checks } from './checks.ts';

export function checkJacks(job: Job, { add }: Checks): void {
  job.jacks.forEach((jack, i) => {
    if (!(jack.ramArea > 1e-5 && jack.ramArea < 1)) {
      add(`jacks[${i}].ramArea`, `${jack.ramArea} m²`, 'the effective area of a ram');
    }
    if (jack.capacity !== null && !(jack.capacity > 100 && jack.capacity < 1e8)) {
      add(`jacks[${i}].capacity`, `${jack.capacity} N`, 'the rated force of a jack');
    }
  });
}

export function checkRestraint(job: Job, restraint: Restraint, checks: Checks): void {
  const { add, onMember } = checks;
  const { member } = job;
  const { supports, gaugeDivision, pumpRating, deadLoad } = restraint;
  supports.forEach((value, i) => {
    onMember(`restraint.supports[${i}]`, value);
  });
  if (!(gaugeDivision > 0 && gaugeDivision <= 7e6)) {
    add('restraint.gaugeDivision', `${gaugeDivision} Pa`, 'a mark of the gauge above zero, at most 1000 psi');
  }
  if (pumpRating !== null && !(pumpRating >= 1e6 && pumpRating <= 5e8)) {
    add(
      'restraint.pumpRating',
      `${pumpRating} Pa`,
      'the rated pressure of a pump, such as 10000 psi or 70 MPa',
    );
  }
  if (deadLoad !== null && !(Math.abs(deadLoad.stress) < member.yieldStress)) {
    add('restraint.deadLoad.stress', `${deadLoad.stress} Pa`, 'a stress below the yield stress');
  }
  const pushes = job.jacks.filter((jack) => jack.push !== null).length;
  if (pushes > 0 && pushes < job.jacks.length) {
    add('jacks', `a "push" at ${pushes} of ${job.jacks.length}`, '"push" at every jack, or at none');
  }
  checkJackStations(job, restraint, checks);
  checkSection(job, restraint, checks);
}

function checkJackStations(job: Job, { supports, setUp }: Restraint, { add, station }: Checks): void {
  const [low, high] = [Math.min(...supports), Math.max(...supports)];
  job.jacks.forEach((jack, i) => {
    if (jack.station === null)
      add(`jacks[${i}].station`, 'nothing', 'the station of the jack, to find its force');
    else if (supports.length > 0 && (jack.station <= low || jack.station >= high)) {
      const free = setUp === 'cantilever' && jack.station === supports[1];
      if (!free)
        add(
          `jacks[${i}].station`,
          station(jack.station),
          `between the supports, ${station(low)} to ${station(high)}`,
        );
    }
  });
}

/** What the plastic modulus is found from, where none is given. */
function checkSection({ member }: Job, { part, plasticModulus }: Restraint, { add }: Checks): void {
  if (plasticModulus !== null) return;
  if (part.startsWith('member')) {
    if (member.depth === null)
      add('member.depth', 'nothing', 'the depth, to find the plastic modulus of the member');
    if (member.webThickness === null) {
      add('member.webThickness', 'nothing', 'the web thickness, to find the plastic modulus of the member');
    }
  }
  if (part === 'flange-with-web' && member.webThickness === null) {
    add('member.webThickness', 'nothing', 'the web thickness, to find the plastic modulus of flange and web');
  }
}

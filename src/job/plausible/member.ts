import { KSI, MEGAPASCAL } from '../../units/factors.ts';
import type { Job } from '../job.ts';
import type { Checks } from './checks.ts';

export function checkMember(job: Job, { add, between, offset, station, stress }: Checks): void {
  const { member } = job;
  between('member.span', member.span, 0.5, 500, station);
  if (member.yieldStress < 150 * MEGAPASCAL || member.yieldStress > 1000 * MEGAPASCAL) {
    const asKsi = job.units === 'si' && member.yieldStress < 150 * MEGAPASCAL;
    add(
      'member.yieldStress',
      stress(member.yieldStress),
      `between ${stress(150 * MEGAPASCAL)} and ${stress(1000 * MEGAPASCAL)}`,
      asKsi ? `${member.yieldStress / MEGAPASCAL} ksi?` : undefined,
    );
  }
  between('member.elasticModulus', member.elasticModulus, 20000 * KSI, 40000 * KSI, stress);
  between('member.flangeWidth', member.flangeWidth, 0.025, 3, offset);
  between('member.flangeThickness', member.flangeThickness, 0.001, 0.25, offset);
  if (member.webThickness !== null) between('member.webThickness', member.webThickness, 0.001, 0.25, offset);
  if (member.depth !== null) between('member.depth', member.depth, 0.05, 12, offset);
}

/** Places along the member that the member itself names. */
export function checkStations({ member }: Job, { increasing, onMember }: Checks): void {
  if (member.struck !== undefined) {
    onMember('member.struck[0]', member.struck[0]);
    onMember('member.struck[1]', member.struck[1]);
  }
  if (member.stiffeners !== undefined) {
    const stations = member.stiffeners.map(({ station }) => station);
    increasing('member.stiffeners', stations, 'stations');
    stations.forEach((value, i) => {
      onMember(`member.stiffeners[${i}]`, value);
    });
  }
  if (member.diaphragms !== null) {
    increasing('member.diaphragms', member.diaphragms, 'stations');
    member.diaphragms.forEach((value, i) => {
      onMember(`member.diaphragms[${i}]`, value);
    });
  }
}

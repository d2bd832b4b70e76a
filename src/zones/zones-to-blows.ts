import type { BlowHints, DiagramState } from './diagram-fit.ts';
import type { Blow, DiagramFrame } from './moment-diagram.ts';
import type { Found } from './search.ts';
import { curvatureAt } from './yielding.ts';

/**
 * Moment diagrams that would have left the zones found one by one: each zone away from a diaphragm a blow (the two
 * largest of them), each zone at a diaphragm the moment there. One or two states to start from, with their hints.
 */
export function hintsFromZones(
  frame: DiagramFrame,
  { fit }: Found,
  impact: number | null,
): { readonly hints: BlowHints; readonly state: DiagramState }[] {
  const rotations = fit.rotations[0] ?? [];
  const bent = fit.zones.map((zone, j) => ({
    zone,
    rotation: rotations[j]!,
    k: Math.sign(rotations[j]!) * curvatureAt(1 + zone.over, zone.steel.hardening),
  }));
  const atBlow = bent
    .filter(({ zone }) => zone.hold !== 'diaphragm')
    .sort((a, b) => Math.abs(b.rotation) - Math.abs(a.rotation));
  if (atBlow.length === 0) return [];
  const main = atBlow[0]!;
  const second = atBlow
    .slice(1)
    .filter(({ rotation }) => Math.sign(rotation) === Math.sign(main.rotation))[0];
  const blowOf = ({ zone, k }: (typeof bent)[number], share: number): Blow => ({
    station: zone.peak,
    patch: Math.max(0.1, zone.patch),
    peak: k,
    supports: frame.diaphragms.map((d) => {
      const at = bent.find(
        ({ zone: other }) => other.hold === 'diaphragm' && Math.abs(other.about - d) < 0.01,
      );
      return at ? at.k * share : -Math.sign(k) * 0.5;
    }),
  });
  const hintOf = ({ zone }: (typeof bent)[number]) =>
    impact !== null && Math.abs(zone.peak - impact) < 0.5 ? impact : null;
  const one = { hints: [hintOf(main)], state: { hardening: 0.009, release: [], blows: [blowOf(main, 1)] } };
  if (!second) return [one];
  const two = [main, second];
  return [two, two.slice().reverse()].map((order) => ({
    hints: order.map(hintOf),
    state: { hardening: 0.009, release: [], blows: order.map((one, i) => blowOf(one, i === 0 ? 1 : 0.7)) },
  }));
}

/**
 * Next vees on girders whose true plastic curvature is known: struck and let go by the mechanics of tests/mechanics,
 * which share no formula with the fit, read by a crew with a rule, and fitted.
 */
import { describe, expect, it } from 'vitest';
import { heatLimits } from '../../src/heats/heat-limits.ts';
import { proposeLayout } from '../../src/heats/layout.ts';
import { plannedVee } from '../../src/heats/planned-vee.ts';
import { zoneHeats } from '../../src/heats/zone-heats.ts';
import { fitLine } from '../../src/zones/fit-line.ts';
import { createCase } from '../bench/zones-cases.ts';
import { valueAt } from '../mechanics/beam.ts';

const FOOT = 0.3048;

describe.each(['layout/0', 'layout/1', 'layout/2'])('simulated girder %s', (seed) => {
  const one = createCase(seed, true);
  const job = { ...one.job, member: { ...one.job.member, steel: 'A36' } };
  const line = job.lines[0]!;
  const fit = fitLine(line, job.member, one.surveys, [], one.readingSd, 'us');
  const limits = heatLimits('A36', job.member.flangeWidth, null);
  const zones = zoneHeats(job, line, fit, null, [], limits, null);
  const { vees } = proposeLayout(line, job.member, fit, zones, plannedVee(job, limits), limits, 6, 'us');
  const { truth } = one;

  // Vees go over the yield zone (FHWA-IF-08-999), where it is bent sharply (common practice, no source): a third of
  // the largest curvature by the fit, a quarter in truth, as crews' readings know a zone's sides that well.
  it('stands every vee where the steel is truly bent at least a quarter as sharply as at its worst', () => {
    expect(vees.length).toBeGreaterThan(0);
    for (const vee of vees) {
      const sense = vee.apex === 'positive' ? 1 : -1;
      const zone = truth.zones.find(
        (z) => Math.sign(z.rotation) === sense && vee.station >= z.core.from && vee.station <= z.core.to,
      );
      expect(zone, `no true core at ${vee.station / FOOT} ft`).toBeDefined();
      const curvature = sense * valueAt(truth.grid, truth.plasticCurvature, vee.station);
      const inside = truth.grid.stations.flatMap((s, i) =>
        s >= zone!.from && s <= zone!.to ? [Math.abs(truth.plasticCurvature[i]!)] : [],
      );
      expect(curvature / Math.max(...inside)).toBeGreaterThan(1 / 4);
    }
  });

  it('knows where each bend is centred to a quarter of a foot, far nearer than the middle of its zone', () => {
    let [core, middle, count] = [0, 0, 0];
    for (const zone of fit.zones) {
      const real = truth.zones.find(
        (z) =>
          Math.sign(z.rotation) === Math.sign(zone.rotation) &&
          Math.abs(z.plasticRotation) > 0.01 &&
          z.from < zone.core.centre &&
          z.to > zone.core.centre,
      );
      if (zone.class !== 'plastic' || real === undefined) continue;
      count++;
      expect(Math.abs(zone.core.centre - real.centre)).toBeLessThan(0.25 * FOOT);
      core += Math.abs(zone.core.centre - real.centre);
      middle += Math.abs((zone.from + zone.to) / 2 - real.centre);
      expect(zone.core.from).toBeGreaterThan(zone.from);
      expect(zone.core.to).toBeLessThan(zone.to);
    }
    expect(count).toBeGreaterThan(0);
    expect(core).toBeLessThan(middle / 3);
  });
});

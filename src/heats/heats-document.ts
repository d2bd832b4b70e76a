import type { Job } from '../job/job.ts';
import { HEAT_CAUTIONS, HEAT_DEFERRAL } from './cautions.ts';
import type { HeatsOfJob } from './heats-of-job.ts';

/** What `sweepbook heats --json` prints: everything in SI (m, rad, Pa, N, °C), plain data. */
export function heatsDocument(job: Job, heats: HeatsOfJob): Record<string, unknown> {
  const { restraint } = heats;
  return {
    schema: 'sweepbook/heats/1',
    job: job.name,
    units: 'SI',
    restraint:
      restraint === null
        ? null
        : {
            setUp: restraint.setUp,
            ends: restraint.held.ends,
            springs: restraint.held.springs,
            governs: restraint.governs,
            plasticModulus: restraint.part.plasticModulus,
            part: restraint.part.how,
            ceiling: restraint.ceiling,
            diagram: restraint.diagram,
            reactions: restraint.reactions,
            hotStress: heats.hotStress,
          },
    limits: heats.limits,
    plannedVee: heats.plan,
    zones: heats.zones,
    /** Lines whose heats stand on another line of the same flange. */
    sameFlange: [...heats.led].map(([line, on]) => ({ line, on })),
    factor: heats.factor,
    proposals: heats.layouts.map((layout) => ({
      ...layout,
      status: 'proposal for the engineer to decide',
    })),
    panels: heats.panels.map(({ findings: _, ...panel }) => ({
      ...panel,
      status: 'proposal for the engineer to decide',
    })),
    quantities: heats.quantities,
    findings: heats.findings,
    cautions: HEAT_CAUTIONS,
    deferral: HEAT_DEFERRAL,
  };
}

import type { Analysis } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { PlateSpec } from '../job/job.ts';
import { fitPlate, type PlateFit } from './plate-fit.ts';

/** Every plate of the job laid on its as-left readings. */
export function platesOfJob(analysis: Analysis): PlateFit[] {
  const fitOf = (name: string) => analysis.lines.find((entry) => entry.line.name === name)?.fit ?? null;
  const { job } = analysis;
  return job.plates.map((plate, i) => {
    const fit = fitPlate(job, plate, fitOf);
    return { ...fit, findings: [...fit.findings, ...overlapFindings(plate, job.plates.slice(0, i))] };
  });
}

/** Plates on the same side of one line over the same steel: the later one would lie on the first, not on steel. */
function overlapFindings(plate: PlateSpec, earlier: readonly PlateSpec[]): Finding[] {
  return earlier
    .filter(
      (other) =>
        other.line === plate.line &&
        other.side === plate.side &&
        other.from < plate.to &&
        other.to > plate.from,
    )
    .map((other) => ({
      severity: 'caution',
      code: 'plates-overlap',
      message: `Plates ${other.name} and ${plate.name} overlap on the same side of ${plate.line}. Both are laid on the steel itself: where they overlap, the gaps of one of them are wrong.`,
      line: plate.line,
    }));
}

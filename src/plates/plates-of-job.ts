import type { Analysis } from '../analysis.ts';
import { fitPlate, type PlateFit } from './plate-fit.ts';

/** Every plate of the job laid on its as-left readings. */
export function platesOfJob(analysis: Analysis): PlateFit[] {
  const fitOf = (name: string) => analysis.lines.find((entry) => entry.line.name === name)?.fit ?? null;
  return analysis.job.plates.map((plate) => fitPlate(analysis.job, plate, fitOf));
}

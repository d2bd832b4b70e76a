import type { Problem } from '../../input-error.ts';
import { INCH } from '../../units/factors.ts';
import { isDate } from '../dates.ts';
import type { Job } from '../job.ts';
import { type Checks, checksOf } from './checks.ts';
import { checkLine } from './line.ts';
import { checkMember, checkStations } from './member.ts';
import { checkJacks, checkRestraint } from './restraint.ts';

/** Values that have the right form but cannot be meant. Widths and stresses are bounded loosely: the aim is wrong units. */
export function checkJob(job: Job, file: string): Problem[] {
  const checks = checksOf(job, file);
  checkMember(job, checks);
  checks.between('usefulGain', job.usefulGain, 1e-5, INCH, checks.offset);
  checkStations(job, checks);
  if (job.lines.length === 0) checks.add('lines', 'no line', 'at least one line or panel');
  for (const line of job.lines) checkLine(line, job, checks);
  checkRules(job, checks);
  checkRepairs(job, checks);
  checkJacks(job, checks);
  checkPlates(job, checks);
  if (job.restraint !== null) checkRestraint(job, job.restraint, checks);
  return [...checks.problems];
}

function checkRules(job: Job, { between, longest, offset, station }: Checks): void {
  job.acceptance.forEach((rule, i) => {
    if (rule.preset !== null) return;
    between(`acceptance[${i}].limit`, rule.limit, 1e-4, 1, offset);
    if (rule.over.kind === 'chord')
      between(`acceptance[${i}].over`, rule.over.length, 0.05, longest, station);
  });
}

function checkRepairs(job: Job, { add, station }: Checks): void {
  job.repairs.forEach((repair, i) => {
    if (repair.date !== null && !isDate(repair.date)) {
      add(`repairs[${i}].date`, `"${repair.date}"`, 'a date as YYYY-MM-DD');
    }
    if (repair.to < repair.from)
      add(`repairs[${i}]`, `from ${station(repair.from)} to ${station(repair.to)}`, 'from before to');
  });
}

function checkPlates(job: Job, { add, between, offset, station }: Checks): void {
  const names = job.lines.map((line) => line.name);
  job.plates.forEach((plate, i) => {
    if (!names.includes(plate.line))
      add(`plates[${i}].line`, `"${plate.line}"`, `a line of this job (${names.join(', ')})`);
    if (plate.to <= plate.from)
      add(`plates[${i}]`, `from ${station(plate.from)} to ${station(plate.to)}`, 'from before to');
    between(`plates[${i}].thickness`, plate.thickness, 0.001, 0.25, offset);
    if (plate.tilt !== null && job.lines.find((line) => line.name === plate.tilt)?.kind !== 'tilt') {
      add(`plates[${i}].tilt`, `"${plate.tilt}"`, 'a line of this job of kind tilt');
    }
    plate.across.forEach((other, k) => {
      if (!names.includes(other.line)) {
        add(`plates[${i}].across[${k}].line`, `"${other.line}"`, `a line of this job (${names.join(', ')})`);
      }
    });
  });
}

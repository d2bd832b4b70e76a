import type { Progress } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { Line } from '../job/job.ts';

/** Cautions a verdict alone would hide: a zone turning the wrong way or overdone while the line improves. */
export function progressFindings(line: Line, progress: Progress): Finding[] {
  const findings: Finding[] = [];
  for (const zone of progress.zones) {
    if (zone.verdict === 'regressing' || zone.verdict === 'overcorrected') {
      findings.push({
        severity: 'caution',
        code: `zone-${zone.verdict}`,
        message: zone.reason,
        line: line.name,
      });
    }
  }
  if (progress.verdict === 'overcorrected' || progress.verdict === 'regressing') {
    findings.push({
      severity: 'caution',
      code: `line-${progress.verdict}`,
      message: progress.reason,
      line: line.name,
    });
  }
  if (progress.verdict === 'progressing' && progress.fallingOff !== null) {
    findings.push({
      severity: 'note',
      code: 'movement-falling-off',
      message: `${line.name}: the last ${progress.fallingOff} movements together fall short of the rate they are judged by (CUSUM). Look at the heats before the rate is seen to drop.`,
      line: line.name,
    });
  }
  return findings;
}

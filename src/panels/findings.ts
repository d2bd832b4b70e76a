import type { SurveyFit } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { JobUnits, Line } from '../job/job.ts';
import { boxText } from '../survey/panel-map.ts';
import { formatLength } from '../units/format-length.ts';

/** What the map of the last survey leaves open, and what was taken off it. */
export function panelFindings(line: Line, fits: readonly SurveyFit[], units: JobUnits): Finding[] {
  return fits.flatMap((fit, k) => {
    if (fit.panel === undefined) return [];
    const last = k === fits.length - 1;
    const [hole] = fit.panel.unseen.filter((each) => each.touchesCrest);
    const findings: Finding[] = [];
    if (hole !== undefined) {
      findings.push({
        severity: last ? 'caution' : 'note',
        code: 'crest-beside-unread',
        message: `Panel ${line.name}, cycle ${fit.cycle}: the furthest place read stands beside a part without readings (${boxText(hole, units)}), a hole or a place not reached. The bulge is at least ${offset(fit.panel.crest.deviation, units)}; it can be more there.`,
        line: line.name,
        cycle: fit.cycle,
        station: fit.panel.crest.station,
      });
    }
    return findings;
  });
}

function offset(metres: number, units: JobUnits): string {
  return formatLength(Math.abs(metres), { units, as: 'offset' });
}

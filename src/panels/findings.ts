import type { SurveyFit } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { JobUnits, Line } from '../job/job.ts';
import { boxText } from '../survey/panel-map.ts';
import { INCH } from '../units/factors.ts';
import { formatLength } from '../units/format-length.ts';
import { readSpacing } from './seen.ts';

/**
 * Grids wider than this are warned of, m. Of grids of 4 in and less all but 1 crest in 20 come within max(5 %, 1/16 in), of 6 in 3 in 4,
 * of 8 and 12 in about half (`bench:panels`), and a dent can stand between the places altogether.
 */
const WIDE = 6.5 * INCH;

/** Tips less than this are not worth a second reading, m; nor those below this share of the crest. */
const LEAST_POINT = INCH / 32;
const POINTED = 0.05;

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
    const { deviation, point } = fit.panel.crest;
    if (last && point > Math.max(LEAST_POINT, POINTED * Math.abs(deviation))) {
      findings.push({
        severity: 'note',
        code: 'crest-pointed',
        message: `Panel ${line.name}, cycle ${fit.cycle}: the sides of the bulge go about straight up to its top, as those of a plate pushed in at a point do. Its tip may stand ${offset(2 * point, units)} above what is said, between the readings; that is in its uncertainty. Read every inch or two about the crest.`,
        line: line.name,
        cycle: fit.cycle,
        station: fit.panel.crest.station,
      });
    }
    const spacing = readSpacing(fit.stations.filter((place) => !place.setAside));
    if (last && spacing > WIDE) {
      findings.push({
        severity: 'caution',
        code: 'grid-too-wide',
        message: `Panel ${line.name}, cycle ${fit.cycle}, was read about every ${about(spacing, units)}. A dent up to ${about(Math.SQRT2 * spacing, units)} across can stand between those places and show at none of them, and the top of a wider one can be well above what is read. Read every ${about(4 * INCH, units)} or closer, and go over the steel between with a straight-edge before it is accepted.`,
        line: line.name,
        cycle: fit.cycle,
      });
    }
    return findings;
  });
}

/** To the inch or centimetre. */
function about(metres: number, units: JobUnits): string {
  const whole = units === 'us' ? Math.round(metres / INCH) * INCH : Math.round(metres * 100) / 100;
  return formatLength(whole, { units, as: 'offset', digits: 0 });
}

function offset(metres: number, units: JobUnits): string {
  return formatLength(Math.abs(metres), { units, as: 'offset' });
}

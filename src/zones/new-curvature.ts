import type { Finding } from '../finding.ts';
import type { JobUnits, Line } from '../job/job.ts';
import { MEASURED } from '../maths/coverage-level.ts';
import { hypot } from '../maths/portable.ts';
import type { Survey } from '../survey/survey.ts';
import { formatLength } from '../units/format-length.ts';
import { formatAngle } from '../units/format-quantity.ts';
import { allStretches, type Held, solveHeld } from './hold.ts';
import type { BentStretch } from './stretch.ts';

interface Turn {
  readonly rotation: number;
  readonly u: number;
}

/**
 * What is said of curvature that a survey shows outside the zones. Three things look alike in that survey: straight steel that was
 * bent, a bend too slight to be a zone that was there as found, and a sheet with rows at wrong stations. The others tell them apart: the
 * same stretch is fitted in the survey as found and in the one after it.
 */
export function newCurvatureFindings(
  line: Line,
  surveys: readonly Survey[],
  held: readonly Held[],
  stretches: readonly BentStretch[],
  asFoundIndex: number,
  units: JobUnits,
): Finding[] {
  return held.flatMap((own, i) =>
    own.elsewhere.flatMap((extra): Finding[] => {
      const now = turnOf(own, stretches, own.elsewhere, extra);
      const before = turnOf(held[asFoundIndex]!, stretches, [extra], extra);
      // As found it was bent as far, for all the readings can tell: nothing is new there.
      if (!exceeds(now, before)) return [];
      const cycle = surveys[i]!.cycle;
      const next = surveys.findIndex((other) => other.state === surveys[i]!.state && other.cycle > cycle);
      const after = next < 0 ? null : turnOf(held[next]!, stretches, [extra], extra);
      const gone = after !== null && exceeds(now, after) && !exceeds(after, before);
      const latest = cycle === surveys.at(-1)!.cycle;
      const bend = `${formatAngle(now.rotation)} near ${formatLength(extra.peak, { units, as: 'station' })}, outside the zones found as-found`;
      return [
        {
          severity: latest ? 'caution' : 'note',
          code: 'new-curvature-outside-zones',
          message: latest
            ? `Cycle ${cycle} bends by ${bend}: straight steel is being bent, or rows of the sheet stand at wrong stations. Check the heats and the jacks there, and the sheet.`
            : gone
              ? `Cycle ${cycle} showed a bend of ${bend}, and cycle ${surveys[next]!.cycle} no longer does: steel does not bend there and back by itself. See whether rows of that sheet stand at wrong stations.`
              : `Cycle ${cycle} showed a bend of ${bend}.`,
          line: line.name,
          cycle,
          station: extra.peak,
        },
      ];
    }),
  );
}

/** Turned the same way by more than chance leaves. */
function exceeds(one: Turn, other: Turn): boolean {
  const more = one.rotation - other.rotation;
  return (
    Math.abs(more) > MEASURED.factor * hypot(one.u, other.u) && Math.sign(more) === Math.sign(one.rotation)
  );
}

function turnOf(
  held: Held,
  stretches: readonly BentStretch[],
  elsewhere: readonly BentStretch[],
  extra: BentStretch,
): Turn {
  const shapes = allStretches(stretches, elsewhere);
  const { coefficients, covariance } = solveHeld(held.fixed, shapes);
  const at = coefficients.length - shapes.length + shapes.indexOf(extra);
  return { rotation: coefficients[at]!, u: Math.sqrt(covariance[at]![at]!) };
}

import type { Finding } from '../finding.ts';
import type { Job } from '../job/job.ts';
import { isPractice } from '../job/practice-mark.ts';
import { INCH } from '../units/factors.ts';
import { formatLength, formatLimit } from '../units/format-length.ts';
import { formatAngle, formatTemperature } from '../units/format-quantity.ts';
import type { AssignedHeat, ZonedLine } from './assign-heats.ts';
import type { HeatLimits } from './heat-limits.ts';
import { rangeText } from './limit-findings.ts';
import { limitTemperature, pressureText } from './limit-text.ts';
import { missingForCeiling } from './missing-for-ceiling.ts';
import type { JobRestraint } from './restraint-of-job.ts';
import { isUnknownGrade, PHASE_CHANGE, temperatureLimit, temperedCeiling } from './temperature-limit.ts';
import { openWidth } from './vee-rotation.ts';
import { veeAngle } from './zone-heats.ts';

/** Limits are met at the limit: a hair is allowed for units turned to SI and back. */
export const HAIR = 1 + 1e-6;

/**
 * Checks a heat log and the job's earlier repairs against the limits in force. Each finding about one heat names
 * its row; each limit is named with its source.
 */
export function checkHeats(
  job: Job,
  heats: readonly AssignedHeat[],
  lines: readonly ZonedLine[],
  limits: HeatLimits,
  restraint: JobRestraint | null,
  readTo: number = -1,
): Finding[] {
  const say = words(job);
  return [
    ...gradeFindings(job, limits),
    ...heats.flatMap((h) => temperatureFindings(job, h, limits, say)),
    ...coolingFindings(heats, limits, say),
    ...heats.flatMap((h) => geometryFindings(job, h, limits, say)),
    ...heats.flatMap((h) => placeFindings(h, lines, say)),
    ...pressureFindings(job, heats, restraint, readTo, say),
    ...spacingFindings(heats, limits, say),
    ...repairFindings(job, lines, limits, say),
  ];
}

type Words = ReturnType<typeof words>;

function words(job: Job) {
  return {
    station: (metres: number) => formatLength(metres, { units: job.units, as: 'station', fraction: 2 }),
    small: (metres: number) => formatLength(metres, { units: job.units, as: 'offset' }),
    exact: (metres: number) => formatLimit(metres, job.units),
    temperature: (celsius: number) => formatTemperature(celsius, job.units),
    limit: (celsius: number) => limitTemperature(celsius, job.units),
    pressure: (pascals: number) => pressureText(pascals, job.units),
  };
}

function about(h: AssignedHeat): Pick<Finding, 'cycle' | 'file' | 'row' | 'line' | 'station'> {
  return {
    cycle: h.heat.cycle,
    file: h.heat.file,
    row: h.heat.row,
    ...(h.line === null ? {} : { line: h.line.name }),
    ...(h.station === null ? {} : { station: h.station }),
  };
}

function gradeFindings(job: Job, limits: HeatLimits): Finding[] {
  if (limits.maxTemperature === null) {
    return [
      {
        severity: 'stop',
        code: 'temperature-limit-not-known',
        message: `Published temperature limits for "${job.member.steel}" differ. Do not heat before the engineer has stated heating.limits.maxTemperature with its source in job.json.`,
      },
    ];
  }
  const standIn = temperatureLimit(job.member.steel);
  if (!isUnknownGrade(standIn) || (job.heating.limits?.maxTemperature ?? null) !== null) return [];
  const grade =
    job.member.steel === null
      ? 'The job names no steel grade'
      : `"${job.member.steel}" is not a grade known here`;
  return [
    {
      severity: 'caution',
      code: 'steel-grade-not-known',
      message: `${grade}, so the temperature limit used is ${limitTemperature(limits.maxTemperature.value, job.units)}, a ${standIn!.source}. Find the grade before heating and state its limit (heating.limits).`,
    },
  ];
}

function temperatureFindings(job: Job, h: AssignedHeat, limits: HeatLimits, say: Words): Finding[] {
  const { temperature } = h.heat;
  const limit = limits.maxTemperature;
  if (temperature !== null && temperature < limits.minTemperature.value / HAIR) {
    return [
      {
        ...about(h),
        severity: 'caution',
        code: 'heat-too-cool',
        message: `Steel reached only ${say.temperature(temperature)}; below about ${say.temperature(limits.minTemperature.value)} a heat does nothing (${limits.minTemperature.source}).`,
      },
    ];
  }
  if (temperature === null || limit === null || temperature <= limit.value * HAIR) return [];
  const past = temperature >= PHASE_CHANGE;
  const tempered = temperedCeiling(job.member.steel) !== null;
  return [
    {
      ...about(h),
      severity: past || tempered ? 'stop' : 'caution',
      code: 'heat-over-temperature',
      message: past
        ? `Steel reached ${say.temperature(temperature)}, past ${say.temperature(PHASE_CHANGE)} where the metal itself begins to change (FHWA, bridge steel, chapter 5). The engineer must look at this place before anything goes on.`
        : tempered
          ? `Steel that is quenched and tempered reached ${say.temperature(temperature)}; its limit is ${say.limit(limit.value)} (${limit.source}), above which it loses its temper. Stop: the engineer must look at this place before anything goes on.`
          : `Steel reached ${say.temperature(temperature)}; the limit is ${say.limit(limit.value)} (${limit.source}). Tell the engineer, and check the torch and the crayons.`,
    },
  ];
}

function coolingFindings(heats: readonly AssignedHeat[], limits: HeatLimits, say: Words): Finding[] {
  const limit = limits.coolBelow;
  const found: Finding[] = heats.flatMap((h): Finding[] => {
    const { before } = h.heat;
    if (before === null || before <= limit.value * HAIR) return [];
    return [
      {
        ...about(h),
        severity: 'caution',
        code: 'reheated-before-cooled',
        message: `Heated again at ${say.temperature(before)}; it should first cool below ${say.limit(limit.value)} (${limit.source}). What this heat did cannot be told apart from the last one.`,
      },
    ];
  });
  const unlogged = heats.filter((h) => h.heat.before === null);
  if (unlogged.length > 0 && heats.length > 1) {
    found.push({
      severity: 'note',
      code: 'cooling-not-logged',
      message: `${unlogged.length} of ${heats.length} heats have no steel temperature before heating, so whether the steel had cooled below ${say.limit(limit.value)} cannot be checked (column "before").`,
      file: unlogged[0]!.heat.file,
      row: unlogged[0]!.heat.row,
    });
  }
  return found;
}

function geometryFindings(job: Job, h: AssignedHeat, limits: HeatLimits, say: Words): Finding[] {
  const { heat } = h;
  if (heat.pattern !== 'vee') return [];
  const faults: string[] = [];
  const angle = veeAngle(heat);
  const { veeAngle: angles, veeDepth: depths, openWidth: widths } = limits;
  if (angle !== null && (angle < angles.low / HAIR || angle > angles.high * HAIR)) {
    faults.push(
      `angle ${formatAngle(angle, 0)}, expected ${rangeText(angles, (value) => formatAngle(value, 0))} (${angles.source})`,
    );
  }
  // Depth is judged on flange lines: elsewhere the width of the heated element is not known.
  const onFlange = h.line === null || h.line.kind === 'sweep';
  const element = job.member.flangeWidth;
  if (onFlange && heat.depth !== null) {
    const [low, high] = [depths.low * element, depths.high * element];
    if (heat.depth < low / HAIR - 1e-6 || heat.depth > high * HAIR + 1e-6) {
      faults.push(
        `depth ${say.small(heat.depth)}, expected ${rangeText(depths, say.exact, element)} (${depths.source})`,
      );
    }
  }
  const computed = heat.angle !== null && heat.depth !== null ? openWidth(heat.angle, heat.depth) : null;
  const width = heat.width ?? computed;
  if (width !== null && (width < widths.low / HAIR || width > widths.high * HAIR)) {
    faults.push(`open end ${say.small(width)}, expected ${rangeText(widths, say.exact)} (${widths.source})`);
  }
  const found: Finding[] =
    faults.length === 0
      ? []
      : [
          {
            ...about(h),
            severity: 'caution',
            code: 'vee-geometry',
            message: `Vee outside the limits: ${faults.join('; ')}.`,
          },
        ];
  if (
    heat.width !== null &&
    computed !== null &&
    Math.abs(heat.width - computed) > Math.max(INCH, 0.15 * computed)
  ) {
    found.push({
      ...about(h),
      severity: 'note',
      code: 'vee-sizes-disagree',
      message: `Open end logged as ${say.small(heat.width)}, but ${formatAngle(heat.angle!, 0)} over a depth of ${say.small(heat.depth!)} gives ${say.small(computed)}. Check the sheet.`,
    });
  }
  return found;
}

function placeFindings(h: AssignedHeat, lines: readonly ZonedLine[], say: Words): Finding[] {
  const { heat } = h;
  const on = lines.find((l) => l.line === h.line);
  const found: Finding[] = [];
  if (heat.cycle === 0) {
    found.push({
      ...about(h),
      severity: 'caution',
      code: 'heat-in-cycle-0',
      message:
        'Logged in cycle 0, which is as-found: the first heats belong to cycle 1, before its readings.',
    });
  }
  if (on === undefined || on.zones.length === 0) return found;
  // A heat logged on another line of this flange names a zone of that one.
  const name = heat.line === null || heat.line === on.line.name ? heat.zone : null;
  const named = name === null ? undefined : on.zones.find((z) => z.zone.toLowerCase() === name.toLowerCase());
  if (name !== null && named === undefined) {
    found.push({
      ...about(h),
      severity: 'caution',
      code: 'zone-not-known',
      message: `Zone "${name}" is not one of the zones found (${on.zones.map((z) => z.zone).join(', ')}).`,
    });
  }
  if (h.zone === null && heat.station !== null) {
    const nearest = on.zones
      .map((z) => `${z.zone} ${say.station(z.from)} to ${say.station(z.to)}`)
      .join(', ');
    found.push({
      ...about(h),
      severity: 'caution',
      code: 'heat-outside-zones',
      message: `Heated at ${say.station(heat.station)}, outside every bent zone (${nearest}). Heat there bends straight steel.`,
    });
  } else if (h.zone?.class === 'elastic') {
    found.push({
      ...about(h),
      severity: 'caution',
      code: 'heat-in-elastic-zone',
      message: `Heated in zone ${h.zone.zone}, which the readings show bent elastically only: it should spring back when its neighbours are straight.`,
    });
  } else if (named !== undefined && h.zone !== null && named !== h.zone) {
    found.push({
      ...about(h),
      severity: 'caution',
      code: 'zone-and-station-disagree',
      message: `Logged in zone ${named.zone}, but ${say.station(heat.station!)} lies in zone ${h.zone.zone}.`,
    });
  }
  return found;
}

function pressureFindings(
  job: Job,
  heats: readonly AssignedHeat[],
  restraint: JobRestraint | null,
  readTo: number,
  say: Words,
): Finding[] {
  // A push on a bulge has a ceiling of its own (panel-heats.ts).
  const pushed = heats.filter(
    (h) => h.heat.pressure !== null && h.heat.pressure > 0 && h.line?.panel === undefined,
  );
  if (pushed.length === 0) return [];
  const ceiling = restraint?.ceiling ?? null;
  if (ceiling === null) {
    return [
      {
        severity: 'caution',
        code: 'no-jacking-ceiling',
        message: `${pushed.length} heats were made with jacks on, but job.json does not say ${missingForCeiling(job)}, so no ceiling could be checked.`,
        file: pushed[0]!.heat.file,
        row: pushed[0]!.heat.row,
      },
    ];
  }
  return pushed.flatMap((h): Finding[] => {
    const pressure = h.heat.pressure!;
    if (pressure <= ceiling.pressure * HAIR) return [];
    const over = pressure > ceiling.exactPressure * HAIR;
    // What the blow left locked in is found from all readings, so that a ceiling can come down after it was kept to.
    const since =
      h.heat.cycle > readTo
        ? ''
        : ' That is the ceiling as job.json and all readings give it now; if the card allowed more that day, it has come down since.';
    // A practice makes no heat above the ceiling of its day (`src/practice/refusals.ts`).
    if (over && since !== '' && isPractice(job)) {
      return [
        {
          ...about(h),
          severity: 'caution',
          code: 'pressure-above-ceiling',
          message: `Gauge at ${say.pressure(pressure)}: inside the ceiling when the heat was made, and above what it is now, ${say.pressure(ceiling.pressure)} (${ceiling.limit.source}): readings since, or a changed job.json, have brought it down. On steel: look for cracks and buckles, and keep to the new one.`,
        },
      ];
    }
    return [
      {
        ...about(h),
        severity: over ? 'stop' : 'caution',
        code: 'pressure-above-ceiling',
        message: over
          ? `Gauge at ${say.pressure(pressure)}, above the ceiling of ${say.pressure(ceiling.pressure)} (${ceiling.limit.source}). Release, look for cracks and buckles, and ask the engineer before going on.${since}`
          : `Gauge at ${say.pressure(pressure)}, above the ceiling as rounded down to the gauge, ${say.pressure(ceiling.pressure)}.`,
      },
    ];
  });
}

function spacingFindings(heats: readonly AssignedHeat[], limits: HeatLimits, say: Words): Finding[] {
  const vees = heats.filter((h) => h.heat.pattern === 'vee' && h.heat.station !== null);
  const found: Finding[] = [];
  for (let i = 0; i < vees.length; i++) {
    for (let k = 0; k < i; k++) {
      const [a, b] = [vees[k]!, vees[i]!];
      const together =
        a.heat.cycle === b.heat.cycle &&
        a.heat.date === b.heat.date &&
        a.heat.time === b.heat.time &&
        a.line === b.line &&
        // Steel that had cooled before the second heat was not hot together with the first.
        (a.heat.time !== null || b.heat.before === null || b.heat.before > limits.coolBelow.value);
      const apart = Math.abs(a.heat.station! - b.heat.station!);
      if (!together || apart >= limits.spacing.value / HAIR) continue;
      const untimed = a.heat.time === null ? ' No times are logged: they are taken as heated together.' : '';
      found.push({
        ...about(b),
        severity: 'caution',
        code: 'vees-too-close',
        message: `Vees of rows ${a.heat.row} and ${b.heat.row} stand ${say.small(apart)} apart; heated together they need ${say.small(limits.spacing.value)} (${limits.spacing.source}).${untimed}`,
      });
    }
  }
  return found;
}

function repairFindings(job: Job, lines: readonly ZonedLine[], limits: HeatLimits, say: Words): Finding[] {
  return lines.flatMap((l) =>
    l.zones
      .filter((zone) => zone.class === 'plastic')
      .flatMap((zone): Finding[] => {
        const earlier = job.repairs.filter((r) => r.from <= zone.to && r.to >= zone.from);
        const events = earlier.length + 1;
        if (events <= limits.repairs.value) return [];
        const when = earlier.map((r) => r.date ?? 'undated').join(', ');
        return [
          {
            severity: 'stop',
            code: 'repair-limit-reached',
            message: `Zone ${zone.zone} (${say.station(zone.from)} to ${say.station(zone.to)}) has been repaired ${earlier.length} times before (${when}); this would be number ${events}. Limit: ${limits.repairs.source}. The engineer must decide whether this steel may be heated at all.`,
            line: l.line.name,
            station: (zone.from + zone.to) / 2,
          },
        ];
      }),
  );
}

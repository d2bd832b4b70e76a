import { inertText as inert } from '../inert-text.ts';
import type { Job } from '../job/job.ts';
import { levelText, MEASURED } from '../maths/coverage-level.ts';
import { KIP } from '../units/factors.ts';
import { formatDecimal, formatLength, formatUncertainty } from '../units/format-length.ts';
import { formatForce } from '../units/format-quantity.ts';
import { tableText, wrapText } from '../wrap-text.ts';
import type { CoverPlateFit } from './cover-plate.ts';
import {
  boltRows,
  COVER_DEFERRAL,
  coverLines,
  edgeText,
  faceTitle,
  referenceText,
} from './cover-plate-text.ts';
import type { Gap, PlateFit } from './plate-fit.ts';

/** Shown wherever a plate is: the numbers are for ordering steel, not for closing a joint. */
export const PLATES_DEFERRAL =
  'Gaps are computed for a flat rigid plate on the places that were read; between readings the steel is not known. Try the plate before fillers are cut. The engineer designs plate, bolts and fillers; the owner’s specification and local codes govern.';

/** What `sweepbook plates` prints. */
export function platesText(
  job: Job,
  fits: readonly PlateFit[],
  columns: number,
  covers: readonly CoverPlateFit[] = [],
): string {
  const width = Math.max(40, Math.min(columns, 100));
  const out: string[] = [];
  const para = (text: string, indent = '  ', hang = 2) => out.push(...wrapText(text, width, indent, hang));
  para(inert(job.name), '', 0);
  if (fits.length === 0 && covers.length === 0)
    para('job.json has no "plates", and no panel has a "cutOut".');
  for (const fit of fits) {
    out.push('');
    plateHead(job, fit).forEach((text, i) => {
      para(text, i === 0 ? '' : '  ');
    });
    if (fit.gaps !== null) {
      const rows = gapRows(job, fit);
      out.push(...tableText(rows, width, new Set([0])));
      para(limitText(job, fit));
    }
    for (const text of clearanceLines(job, fit)) para(text);
    for (const finding of fit.findings) para(`${finding.severity.toUpperCase()}: ${inert(finding.message)}`);
  }
  for (const cover of covers) {
    out.push('');
    para(
      `Opening in panel ${inert(cover.line)}${cover.cycle === null ? ', not read yet' : `, as left, cycle ${cover.cycle}`}`,
      '',
    );
    for (const text of coverLines(job, cover)) para(text);
    for (const side of cover.on) {
      para(`${faceTitle(side)}. ${referenceText(job, cover)}.`);
      out.push(...tableText(boltRows(job, cover, side), width, new Set([0])));
      para(edgeText(job, side));
    }
    for (const finding of cover.findings)
      para(`${finding.severity.toUpperCase()}: ${inert(finding.message)}`);
  }
  if (covers.length > 0) {
    out.push('');
    para(COVER_DEFERRAL, '', 0);
  }
  out.push('');
  para(
    `${fits.length > 0 || covers.length === 0 ? `${PLATES_DEFERRAL} ` : ''}± is about ${levelText(MEASURED)}.`,
    '',
    0,
  );
  return `${out.join('\n')}\n`;
}

/** Name and place; then how it rests. */
export function plateHead(job: Job, fit: PlateFit): string[] {
  const { plate } = fit;
  const station = (metres: number) => formatLength(metres, { units: job.units, as: 'station', digits: 2 });
  const side = plate.side === 'positive' ? '+ side' : '− side';
  const head = `${inert(plate.name)}: ${station(plate.from)} to ${station(plate.to)} of ${inert(plate.line)}, ${side}, ${formatLength(plate.thickness, { units: job.units, as: 'offset' })} thick`;
  if (fit.gaps === null) return [head, `No fit: ${inert(fit.reason)}.`];
  const contacts = fit.gaps.filter((g) => g.contact).map((g) => station(g.station));
  return [
    head,
    `As left, cycle ${fit.cycle}; ${inert(fit.reason)}. Contacts at ${[...new Set(contacts)].join(', ')}.`,
  ];
}

/** Heading and a row a place: station, across, gap, filler, gap left. */
export function gapRows(job: Job, { gaps, plate }: Pick<PlateFit, 'gaps' | 'plate'>): string[][] {
  if (gaps === null) return [];
  const pullIn = plate.pullIn !== null;
  const { units } = job;
  const fine = (metres: number) => formatLength(metres, { units, as: 'offset', fraction: 32 });
  const rows = new Set(gaps.map((g) => g.across)).size > 1;
  const heading = [
    'Station',
    ...(rows ? ['Across'] : []),
    'Gap',
    'Filler',
    'Left',
    'Draws down',
    'Faying limit',
  ];
  return [
    heading,
    ...gaps.map((g) => [
      `${formatLength(g.station, { units, as: 'station', digits: 2 })}${g.interpolated ? '*' : ''}`,
      ...(rows ? [formatLength(g.across, { units, as: 'offset', sign: 'always' })] : []),
      g.contact ? 'rests' : `${fine(g.gap)} ± ${formatUncertainty(MEASURED.factor * (g.u ?? 0), units)}`,
      fillText(g, units),
      g.contact ? '' : formatDecimal(g.fill.left, { units, as: 'offset' }),
      drawText(g, units, pullIn),
      g.contact ? '' : g.result,
    ]),
  ];
}

function drawText({ drawDown, drawDownMost, closes }: Gap, units: Job['units'], pullIn: boolean): string {
  if (drawDown === null || drawDownMost === null) return '';
  const least = units === 'us' ? 0.1 * KIP : 100;
  const say = (force: number) =>
    force < least ? `under ${formatForce(least, units)}` : formatForce(force, units);
  const [low, high] = [say(drawDown), say(drawDownMost)];
  const force = low === high ? low : `${low.replace(/ \D+$/, '')} to ${high}`;
  if (!pullIn) return force;
  return `${force}, ${closes === null ? 'may close' : closes ? 'closes' : 'stays'}`;
}

function fillText(gap: Gap, units: Job['units']): string {
  if (gap.contact || gap.fill.plies.length === 0) return 'none';
  const bare = gap.fill.plies.map((t) => formatLength(t, { units, as: 'offset', fraction: 64, unit: false }));
  return `${bare.join(' + ')} ${units === 'us' ? 'in' : 'mm'}`;
}

export function limitText(job: Job, fit: PlateFit): string {
  const limit = formatDecimal(fit.gapLimit.value, { units: job.units, as: 'offset' });
  const star = fit.gaps?.some((g) => g.interpolated) ? ' * between readings.' : '';
  const { pullIn } = fit.plate;
  const pull =
    pullIn === null ? '' : ` Pull-in ${formatForce(pullIn.value, job.units)} (${inert(pullIn.source)}).`;
  return `Faying limit for the gap left: ${limit} (${inert(fit.gapLimit.source)}). “Draws down”: force that closes the gap left, the plate a beam on its contacts: free to turn on them, and with the bolts there already tight.${pull}${star}`;
}

/** Clearance before, as left, with the plate; empty where the job states none. */
export function clearanceLines(job: Job, fit: PlateFit): string[] {
  const { clearance } = fit;
  if (clearance.before === null) return [];
  const say = (metres: number) => formatLength(metres, { units: job.units, as: 'station' });
  const pm = (u: number | null) =>
    u === null ? '' : ` ± ${formatUncertainty(MEASURED.factor * u, job.units)}`;
  return [
    [
      `Vertical clearance: ${say(clearance.before)} before damage`,
      clearance.asLeft === null
        ? 'as left not known'
        : `${say(clearance.asLeft)}${pm(clearance.asLeftU)} as left`,
      clearance.withPlate === null
        ? 'with plate not known'
        : `${say(clearance.withPlate)}${pm(clearance.withPlateU)} with plate`,
    ].join(', ') + `; ${inert(clearance.reason)}.`,
  ];
}

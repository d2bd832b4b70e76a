import { inertText } from '../../inert-text.ts';
import type { JobUnits } from '../../job/job.ts';
import type { ScanProfile } from '../../scan/extract-line.ts';
import { formatLength, formatUncertainty } from '../../units/format-length.ts';
import type { CloudRead } from './cloud-read.ts';

const count = (n: number): string => n.toLocaleString('en-US');

/** What was read of a cloud and what was left out before any line looked at it. */
export function cloudText(name: string, cloud: CloudRead): string {
  const out = [
    `Read ${inertText(name)}: ${count(cloud.points)} ${cloud.points === 1 ? 'point' : 'points'} (SHA-256 ${cloud.sha256.slice(0, 12)}…).`,
  ];
  if (cloud.notFinite > 0) out.push(`  left out: ${count(cloud.notFinite)} points without a finite position`);
  if (cloud.withheld > 0)
    out.push(`  left out: ${count(cloud.withheld)} points the file marks as withheld or noise`);
  if (cloud.outside > 0)
    out.push(`  taken: ${count(cloud.outside)} points outside the bounds the header states (--stale-bounds)`);
  return `${out.join('\n')}\n`;
}

/** Less doubt of where a line as a whole stands is not worth a word, m. */
const WORTH_SAYING = 0.0002;

/** One line taken from a cloud: what was read, how well, what was rejected and why, and which stations are missing. */
export function profileText(profile: ScanProfile, units: JobUnits): string {
  const { line, stations, unread, rejected } = profile;
  const station = (m: number) => formatLength(m, { units, as: 'station' });
  const out: string[] = [];
  const used = stations.reduce((sum, s) => sum + s.count, 0);
  out.push(
    `${inertText(line.name)}: ${stations.length} stations from ${count(used)} points on the ${line.feature}`,
  );
  if (stations.length > 0) {
    const sorted = stations.map((s) => s.u).sort((a, b) => a - b);
    out.push(
      `  standard uncertainty of a station ${formatUncertainty(sorted[sorted.length >> 1]!, units)}, worst ` +
        `${formatUncertainty(sorted.at(-1)!, units)}; points scatter ${formatUncertainty(profile.scatter, units)} about the steel`,
    );
  }
  const shared = stations.map((s) => s.alignmentU);
  const mostShared = Math.max(0, ...shared);
  if (mostShared > 0) {
    out.push(
      `  of which from the alignment: ${formatUncertainty(Math.min(...shared), units)} to ${formatUncertainty(mostShared, units)}, shared by all stations of this scan`,
    );
  }
  const { wholeU, slides } = profile.shared;
  if (wholeU > WORTH_SAYING) {
    out.push(
      `  besides, where the line as a whole stands is known to ${formatUncertainty(wholeU, units)}; that is not in the above, because every survey’s own set-up takes it up`,
    );
  }
  if (slides) {
    out.push(
      '  note: no patch holds the scan along the member, so the line may have slid; where the steel slopes that is most of u: name a patch that faces along it',
    );
  }
  const bends = stations.filter((s) => s.sharpBend !== 0);
  if (bends.length > 0) {
    out.push(
      `  sharp bend at ${bends.map((s) => `${station(s.station)} (${Math.abs(s.sharpBend).toFixed(2)} rad, u ${formatUncertainty(s.u, units)})`).join(', ')}: a slice cannot say where in it the steel turns; measure there by hand as well`,
    );
  }
  for (const note of profile.notes) out.push(`  note: ${note}`);
  const reasons: [number, string][] = [
    [rejected.offSteel, 'beyond the edge or off the surface (mixed edge pixels, growth, hardware)'],
    [rejected.offLevel, 'on other things: web, deck, neighbours, ground'],
    [
      rejected.jumps,
      'where something covers the steel or jumps away from it on both sides (clamps, jacks, boards)',
    ],
    [rejected.noSteel, 'where no steel could be told'],
    [rejected.outsideWindow, 'outside the window around the line, or beyond its ends'],
  ];
  for (const [n, reason] of reasons) if (n > 0) out.push(`  rejected: ${count(n)} points ${reason}`);
  if (profile.thinned > 0) out.push(`  not needed: ${count(profile.thinned)} points more than a slice keeps`);
  for (const each of unread) out.push(`  not read at ${station(each.station)}: ${each.reason}`);
  return `${out.join('\n')}\n`;
}

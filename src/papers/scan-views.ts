import * as z from 'zod';
import type { OpenedFiles } from '../folder/open-files.ts';
import type { ReportSection } from '../report/context.ts';
import { html } from '../report/html.ts';
import type { Quantities } from '../report/quantities.ts';
import { SCAN_VIEW, type ScanViews, scanFigures } from '../report/scan-view.ts';
import { webFigures } from '../report/web-view.ts';
import { utf8Text } from '../utf8.ts';

const number = z.number();
const words = z.string().max(1000);
const range = z.tuple([number, number]);
const numbers = (most: number) => z.array(number).max(most);
/** All that is drawn of a view: it may have been written by another version, or by hand. */
const Views = z.object({
  schema: z.literal('sweepbook/scan-view/1'),
  cycle: number,
  file: words,
  sha256: words,
  source: z.object({ name: words, sha256: words }),
  flanges: z
    .array(
      z.object({
        lines: z.array(z.object({ name: words, kind: words })).max(100),
        side: words,
        refusal: words.nullable(),
        section: z.object({ width: number.positive(), thickness: number.positive() }),
        station: range,
        first: number,
        step: number,
        count: z.int().min(1).max(100_000),
        track: z
          .object({
            poses: z.array(z.tuple([number, number, number]).nullable()).max(100_000),
            quality: numbers(100_000),
            disputed: numbers(100_000),
            typical: number,
          })
          .nullable(),
        picks: z.array(z.object({ at: number, y: number, z: number })).length(2),
        y: range,
        z: range,
        readings: z.array(z.object({ kind: words, station: number, y: number, z: number })).max(100_000),
        points: numbers(60_000),
        slices: z
          .array(z.object({ index: z.int().nonnegative(), poorest: z.boolean(), points: numbers(5000) }))
          .max(40),
      }),
    )
    .max(20),
  // Older ones have none.
  webs: z
    .array(
      z.object({
        name: words,
        side: words,
        stations: range,
        band: range,
        extent: number.positive(),
        readings: z.array(z.object({ station: number, offset: number, u: number })).max(100_000),
        slices: z
          .array(
            z.object({
              station: number,
              poorest: z.boolean(),
              u: number.nullable(),
              points: numbers(5000),
              curves: z.array(z.array(number).min(2).max(200)).max(100),
            }),
          )
          .max(40),
      }),
    )
    .max(20)
    .default([]),
});

/**
 * Report section of the surveys taken from scans: plan, elevation and slices with the section that was followed. Of the
 * newest survey for the daily sheet, of the first and the newest for the final report; null where there is none. A view
 * is derived, so one that is damaged, or whose survey is another by now, is left out.
 */
export function scanSection(
  { source, files }: Pick<OpenedFiles, 'source' | 'files'>,
  q: Quantities,
  final: boolean,
): ReportSection | null {
  const views = source
    .names('scans')
    .filter((name) => name.endsWith(SCAN_VIEW) && !name.startsWith('.'))
    .flatMap((name) => viewsOf(() => source.bytes(`scans/${name}`, 'panel')) ?? [])
    .filter((each) => files.some((file) => file.file === each.file && file.sha256 === each.sha256))
    .sort((a, b) => a.cycle - b.cycle);
  const newest = views.at(-1);
  if (newest === undefined) return null;
  const shown = final && views[0] !== newest ? [views[0]!, newest] : [newest];
  return {
    id: 'scans',
    title: 'Followed in scans',
    body: html`<p>How flange and web were found in the cloud when the survey was taken: in every slice the blue outline must lie on the flange, or the blue line on the web, and in plan and elevation the blue lines must run along the flange's edges.</p>${shown.map((each) => html`<h3>Cycle ${each.cycle}</h3><p>From ${each.source.name} (SHA-256 ${each.source.sha256.slice(0, 12)}…), kept as ${each.file}.</p>${each.flanges.map((flange) => scanFigures(flange, q))}${each.webs.map((web) => webFigures(web, q))}`)}`,
    in: 'both',
  };
}

function viewsOf(bytes: () => Uint8Array | null): ScanViews | null {
  try {
    const read = Views.safeParse(JSON.parse(utf8Text(bytes() ?? new Uint8Array(0))));
    return read.success ? read.data : null;
  } catch {
    return null;
  }
}

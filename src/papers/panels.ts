import * as z from 'zod';
import type { JobFiles } from '../folder/job-files.ts';
import { PANELS_FOLDER } from '../folder/names.ts';
import { InputError } from '../input-error.ts';
import type { BulgeDocument } from '../report/bulge-document.ts';
import { utf8Text } from '../utf8.ts';

const number = z.number();
/** All that a report reads of a map: it may have been written by another version, or by hand. */
const PanelMap = z.looseObject({
  schema: z.literal('sweepbook/bulge/1'),
  cycle: number,
  date: z.string().nullable(),
  source: z.looseObject({ name: z.string(), sha256: z.string() }),
  alignment: z.looseObject({ words: z.string() }).nullish(),
  map: z.looseObject({
    panel: z.looseObject({ name: z.string() }),
    seenFrom: z.enum(['positive', 'negative']),
    outline: z
      .array(z.tuple([number, number]))
      .min(3)
      .max(1000),
    columns: number.min(1).max(10_000),
    rows: number.min(1).max(10_000),
    cells: z.array(z.looseObject({ u: number, v: number, deviation: number })).max(100_000),
    largest: z.looseObject({ deviation: number, sd: number, u: number, v: number }),
    extent: z.looseObject({ along: number, up: number }),
    curvature: z.looseObject({ greatest: number, least: number, sd: number, radius: number }),
    rejected: z.looseObject({ jumps: number, offSurface: number }),
    seen: number,
  }),
});

/** Maps kept in a job, by panel and then cycle. */
export function readPanels(source: Pick<JobFiles, 'names' | 'bytes'>): BulgeDocument[] {
  return source
    .names(PANELS_FOLDER)
    .filter((name) => name.endsWith('.json') && !name.startsWith('.'))
    .map((name): BulgeDocument => {
      const file = `${PANELS_FOLDER}/${name}`;
      const unusable = (found: string) =>
        new InputError(
          'a panel map of the job cannot be used; make it again with `sweepbook bulge`, or take it away',
          [{ file, found, expected: 'a map written by sweepbook bulge (sweepbook/bulge/1)' }],
        );
      let document: BulgeDocument;
      try {
        document = JSON.parse(utf8Text(source.bytes(file, 'panel') ?? new Uint8Array(0))) as BulgeDocument;
      } catch (error) {
        if (error instanceof SyntaxError) throw unusable('text that is not JSON');
        throw error;
      }
      const whole = PanelMap.safeParse(document).success;
      if (!whole) throw unusable('another document');
      return document;
    })
    .sort((a, b) =>
      a.map.panel.name < b.map.panel.name ? -1 : a.map.panel.name > b.map.panel.name ? 1 : a.cycle - b.cycle,
    );
}

import type { Finding } from '../finding.ts';
import type { Ledger } from './chain.ts';
import { panelFiles } from './contents.ts';
import type { InputStanding } from './inputs.ts';

/** Maps that agree this much better than their own scatter allows are one cloud: rms of the difference over its u. */
const ONE_CLOUD = 0.1;
/** Cells two maps must share before that is said. For 20 cells of two scans the chance is below 1 in 10²⁰ (χ², 20 degrees of freedom). */
const LEAST_CELLS = 20;

/** A panel file that is there. */
export interface PanelFile {
  readonly sha256: string;
  /** Text of a map (JSON), where it is to be compared with others. */
  readonly text: () => string;
}

/**
 * Compares the maps of panels with what the ledger has of them, and with each other: two cycles of one panel from one
 * cloud, by its SHA-256 or because they agree better than two scans can, would show a panel that stands still.
 *
 * @param there by job-relative name
 */
export function checkPanelFiles(
  ledger: Pick<Ledger, 'records'>,
  there: ReadonlyMap<string, PanelFile>,
): { readonly files: readonly InputStanding[]; readonly findings: readonly Finding[] } {
  const files: InputStanding[] = [];
  const findings: Finding[] = [];
  const panels = panelFiles(ledger);
  for (const file of [...new Set([...panels.keys(), ...there.keys()])].sort()) {
    const recorded = panels.get(file)?.sha256 ?? null;
    const sha256 = there.get(file)?.sha256 ?? null;
    const standing =
      sha256 === null ? 'missing' : recorded === null ? 'unknown' : recorded === sha256 ? 'known' : 'changed';
    files.push({ file, standing, sha256, recorded, when: panels.get(file)?.when ?? null });
    if (standing === 'known') continue;
    const [severity, code, said] = PANEL_SAYS[standing];
    findings.push({ severity, code, message: `${file} ${said}`, file });
  }
  const twice = cloudsTwice(ledger, there);
  findings.push(...twice);
  findings.push(...mapsTwice(there).filter(({ file }) => !twice.some((each) => sameMap(each.file, file))));
  return { files, findings };
}

/** A map can be made again from its scan, so one taken away is no loss; one that was altered is. */
const PANEL_SAYS = {
  changed: [
    'stop',
    'panel-changed',
    'is not the map that was made: its SHA-256 differs from the ledger. Make it again with sweepbook bulge.',
  ],
  missing: ['note', 'panel-missing', 'was made and is gone; sweepbook bulge makes it again.'],
  unknown: ['note', 'panel-not-in-ledger', 'is not in the ledger; sweepbook bulge makes it again.'],
} as const;

const MAKE_AGAIN =
  'so one of them says nothing of its day. Make it again from its own scan with sweepbook bulge, or take its files away.';

/** Two maps of one panel, under two cycles, from one cloud by the ledger. */
function cloudsTwice(
  ledger: Pick<Ledger, 'records'>,
  there: ReadonlyMap<string, PanelFile>,
): readonly Finding[] {
  const newest = new Map(
    ledger.records.flatMap((record) =>
      record.kind === 'panel' ? [[JSON.stringify([record.panel, record.cycle]), record] as const] : [],
    ),
  );
  const present = [...newest.values()]
    .filter((record) => record.files.some(({ file }) => there.has(file)))
    .sort((a, b) => a.cycle - b.cycle);
  return present.flatMap((record, at) => {
    const first = present
      .slice(0, at)
      .find((other) => other.panel === record.panel && other.source.sha256 === record.source.sha256);
    if (first === undefined) return [];
    return [
      {
        severity: 'stop' as const,
        code: 'panel-cloud-twice',
        message: `Panel ${record.panel}: the maps of cycles ${first.cycle} and ${record.cycle} are from the same cloud (${record.source.name}), ${MAKE_AGAIN}`,
        file: record.files[0]!.file,
      },
    ];
  });
}

interface ReadMap {
  readonly file: string;
  readonly panel: string;
  readonly cycle: number;
  /** By column and row. */
  readonly cells: ReadonlyMap<string, { readonly deviation: number; readonly sd: number }>;
}

/** Two maps of one panel whose cells are the same, though their clouds are not the same bytes: one cloud saved again. */
function mapsTwice(there: ReadonlyMap<string, PanelFile>): Finding[] {
  const maps = [...there]
    .filter(([file]) => /\.json$/i.test(file))
    .flatMap(([file, { text }]) => readMap(file, text()) ?? [])
    .sort((a, b) => a.cycle - b.cycle);
  return maps.flatMap((map, at) => {
    const first = maps
      .slice(0, at)
      .find((other) => other.panel === map.panel && other.cycle !== map.cycle && isOneCloud(map, other));
    if (first === undefined) return [];
    return [
      {
        severity: 'stop' as const,
        code: 'panel-map-twice',
        message: `Panel ${map.panel}: the maps of cycles ${first.cycle} and ${map.cycle} agree better than two scans of the same steel can: they are one cloud, saved twice, ${MAKE_AGAIN}`,
        file: map.file,
      },
    ];
  });
}

function isOneCloud(a: ReadMap, b: ReadMap): boolean {
  let count = 0;
  let sum = 0;
  for (const [place, cell] of a.cells) {
    const other = b.cells.get(place);
    if (other === undefined) continue;
    const u2 = cell.sd ** 2 + other.sd ** 2;
    if (!(u2 > 0)) continue;
    count++;
    sum += (cell.deviation - other.deviation) ** 2 / u2;
  }
  return count >= LEAST_CELLS && sum / count < ONE_CLOUD ** 2;
}

/** What is compared of a map; null where the file is none (whoever shows it says so). */
function readMap(file: string, text: string): ReadMap | null {
  let raw: unknown;
  try {
    raw = JSON.parse(text);
  } catch {
    return null;
  }
  const { cycle, map } = fields(raw);
  const { panel, cells } = fields(map);
  const { name } = fields(panel);
  if (typeof cycle !== 'number' || typeof name !== 'string' || !Array.isArray(cells)) return null;
  const read = cells.flatMap((cell: unknown) => {
    const { column, row, deviation, sd } = fields(cell);
    return typeof deviation === 'number' && typeof sd === 'number'
      ? [[`${String(column)} ${String(row)}`, { deviation, sd }] as const]
      : [];
  });
  return { file, panel: name, cycle, cells: new Map(read) };
}

function fields(raw: unknown): Readonly<Record<string, unknown>> {
  return typeof raw === 'object' && raw !== null ? (raw as Record<string, unknown>) : {};
}

/** True for the two files of one map. */
function sameMap(a: string | undefined, b: string | undefined): boolean {
  return a?.replace(/\.[^.]*$/, '') === b?.replace(/\.[^.]*$/, '');
}

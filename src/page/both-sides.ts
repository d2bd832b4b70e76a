import { recordWords } from '../ledger/contents.ts';
import { GROWING_FILES } from '../ledger/inputs.ts';
import { readSheet } from './all-readings.ts';
import { type Book, placeKey } from './book.ts';
import type { JobBundle, Sheet } from './job-bundle.ts';
import { ledgerOfJob } from './ledger/record.ts';
import { textIn } from './logs/logs-of-both.ts';
import { type OpenedBundle, openBundle } from './open-bundle.ts';

/** What each of two devices has of one job that the other has not, for people. */
export interface BothSides {
  /** This device's. */
  readonly ours: readonly string[];
  /** The file's that comes in. */
  readonly theirs: readonly string[];
  /** Changed on both sides. */
  readonly both: readonly string[];
}

/** A job this device keeps beside the same job as it comes in. */
export function bothSides(
  kept: { readonly bundle: JobBundle; readonly book: Book },
  incoming: JobBundle,
): BothSides {
  const mine = { bundle: kept.bundle, sheets: kept.book.sheets };
  const theirs = { bundle: incoming, sheets: incoming.sheets };
  const [own, other] = [recordsOf(kept.bundle), recordsOf(incoming)];
  const logs = GROWING_FILES.map((file) => logWords(file, kept.bundle, incoming));
  return {
    ours: [...own.slice(shared(own, other)), ...keyed(mine, theirs), ...logs.flatMap((each) => each.ours)],
    theirs: [
      ...other.slice(shared(own, other)),
      ...keyed(theirs, mine),
      ...logs.flatMap((each) => each.theirs),
    ],
    both: [...keyedOnBoth(mine, theirs), ...logs.flatMap((each) => each.both)],
  };
}

interface Side {
  readonly bundle: JobBundle;
  readonly sheets: readonly Sheet[];
}

function recordsOf(bundle: JobBundle): string[] {
  return ledgerOfJob(bundle).records.map((record) => `${record.when.slice(0, 10)} ${recordWords(record)}`);
}

function shared(a: readonly string[], b: readonly string[]): number {
  const apart = a.findIndex((each, i) => each !== b[i]);
  return apart < 0 ? a.length : apart;
}

/** Cycles of readings keyed on one side and in nothing the other has; what is in the ledger already is told as a record. */
function keyed(side: Side, other: Side): string[] {
  if (side.sheets.length === 0) return [];
  const own = openedOf(side.bundle);
  const there = openedOf(other.bundle);
  return side.sheets.flatMap((sheet) => {
    const theirs = placesOf(other.sheets.find(({ cycle }) => cycle === sheet.cycle));
    const more = [...placesOf(sheet).keys()].filter((at) => !theirs.has(at)).length;
    if (more === 0 || isFiled(sheet, own) || isFiled(sheet, there)) return [];
    return [`cycle ${sheet.cycle}, keyed at ${more} place${more === 1 ? '' : 's'}`];
  });
}

function keyedOnBoth(side: Side, other: Side): string[] {
  return side.sheets.flatMap((sheet) => {
    const theirs = placesOf(other.sheets.find(({ cycle }) => cycle === sheet.cycle));
    const apart = [...placesOf(sheet)].filter(([at, text]) => (theirs.get(at) ?? text) !== text).length;
    return apart === 0
      ? []
      : [`cycle ${sheet.cycle} at ${apart} place${apart === 1 ? '' : 's'}: this device’s readings stay`];
  });
}

function logWords(file: string, kept: JobBundle, incoming: JobBundle) {
  const [own, other] = [textIn(kept, file), textIn(incoming, file)];
  const said = { ours: [] as string[], theirs: [] as string[], both: [] as string[] };
  if (own === other) return said;
  const more = (longer: string, shorter: string) => {
    const rows = longer
      .slice(shorter.length)
      .split('\n')
      .filter((row) => row.trim() !== '').length;
    return `${file}, ${rows} row${rows === 1 ? '' : 's'}`;
  };
  if (own.startsWith(other)) said.ours.push(more(own, other));
  else if (other.startsWith(own)) said.theirs.push(more(other, own));
  else said.both.push(`${file}: one of them stands, the other is put aside and listed under Papers`);
  return said;
}

function placesOf(sheet: Sheet | undefined): Map<string, string> {
  const cells = (sheet?.cells ?? []).filter(({ readings }) => readings.some((each) => each !== ''));
  return new Map(cells.map((cell) => [placeKey(cell), JSON.stringify(cell.readings)]));
}

/** Null where it cannot be read: nothing of it is called filed. */
function openedOf(bundle: JobBundle): OpenedBundle | null {
  try {
    return openBundle(bundle);
  } catch {
    return null;
  }
}

function isFiled(sheet: Sheet, opened: OpenedBundle | null): boolean {
  return opened !== null && readSheet(sheet, opened).filed;
}

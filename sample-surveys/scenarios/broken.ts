/** Files nobody can use as they are, one fault a file: what `add` must refuse, and where it must point. */
export interface BrokenFile {
  readonly name: string;
  readonly bytes: Uint8Array;
  /** File line the fault is on; null where the whole file is meant. */
  readonly row: number | null;
  /** Heading of the column, where one is at fault. */
  readonly column: string | null;
  readonly fault: string;
}

const SOUND = [
  '# a sound file of the Juniper Lane job: cycle 18 of the bottom flange',
  'cycle,line,station (ft),offset (in),date,state,note',
  '18,bottom-flange,0,4,2025-06-06,released,',
  '18,bottom-flange,8,4 1/16,2025-06-06,released,',
  '18,bottom-flange,16,4 1/8,2025-06-06,released,"windy, string held"',
  '18,bottom-flange,24,4 3/16,2025-06-06,released,',
  '18,bottom-flange,62,4,2025-06-06,released,',
];

/** The sound file with one line replaced (null: removed). */
function changed(row: number, line: string | null): Uint8Array {
  const lines = SOUND.map((text, i) => (i + 1 === row ? line : text)).filter((text) => text !== null);
  return encode(`${lines.join('\n')}\n`);
}

function encode(text: string): Uint8Array {
  return new TextEncoder().encode(text);
}

function utf16(text: string): Uint8Array {
  const bytes = new Uint8Array(2 + 2 * text.length);
  bytes.set([0xff, 0xfe]);
  for (let i = 0; i < text.length; i++) {
    bytes[2 + 2 * i] = text.charCodeAt(i) & 0xff;
    bytes[3 + 2 * i] = text.charCodeAt(i) >> 8;
  }
  return bytes;
}

const HEADING = SOUND[1]!;
const LINE_4 = SOUND[3]!;

export const SOUND_FILE: Uint8Array = encode(`${SOUND.join('\n')}\n`);

export const BROKEN_FILES: readonly BrokenFile[] = [
  file('empty', encode(''), null, null, 'an empty file'),
  file('comments-only', encode('# book 2\n# nothing read, rain\n'), null, null, 'comments and no heading'),
  file('no-heading', changed(2, null), 2, null, 'readings without a heading line'),
  file(
    'no-offset-column',
    changed(2, HEADING.replace('offset (in)', 'reader')),
    2,
    null,
    'no column of offsets',
  ),
  file(
    'station-misspelt',
    changed(2, HEADING.replace('station (ft)', 'staton')),
    2,
    'staton',
    'a heading misspelt',
  ),
  file('station-twice', changed(2, HEADING.replace('note', 'station')), 2, 'station', 'two station columns'),
  file(
    'unknown-unit',
    changed(2, HEADING.replace('(in)', '(furlong)')),
    2,
    'offset (furlong)',
    'a unit that is none',
  ),
  file('blank-offset', changed(4, LINE_4.replace('4 1/16', '')), 4, 'offset (in)', 'an offset left blank'),
  file(
    'word-for-offset',
    changed(4, LINE_4.replace('4 1/16', 'blocked')),
    4,
    'offset (in)',
    'a word where a length belongs',
  ),
  file(
    'fraction-over-nothing',
    changed(4, LINE_4.replace('1/16', '1/0')),
    4,
    'offset (in)',
    'a fraction over 0',
  ),
  file(
    'dashed-length',
    changed(4, LINE_4.replace('4 1/16', '4-1/16')),
    4,
    'offset (in)',
    '4-1/16: inches, or feet and inches',
  ),
  file(
    'not-a-number',
    changed(4, LINE_4.replace('4 1/16', 'NaN')),
    4,
    'offset (in)',
    'NaN from a spreadsheet',
  ),
  file(
    'spreadsheet-error',
    changed(4, LINE_4.replace('4 1/16', '#REF!')),
    4,
    'offset (in)',
    'a spreadsheet error',
  ),
  file(
    'endless',
    changed(4, LINE_4.replace('4 1/16', '1e999')),
    4,
    'offset (in)',
    'a number beyond all numbers',
  ),
  file(
    'metres-in-feet-column',
    changed(4, LINE_4.replace('flange,8,', 'flange,800,')),
    4,
    'station (ft)',
    'a station far beyond the girder',
  ),
  file(
    'unknown-line',
    changed(4, LINE_4.replace('bottom-flange', 'botom-flange')),
    4,
    'line',
    'a line the job does not have',
  ),
  file('half-cycle', changed(4, LINE_4.replace('18,', '17.5,')), 4, 'cycle', 'half a cycle'),
  file('minus-cycle', changed(4, LINE_4.replace('18,', '-1,')), 4, 'cycle', 'a cycle before the first'),
  file(
    'state-unknown',
    changed(4, LINE_4.replace('released', 'loose')),
    4,
    'state',
    'a state that is neither released nor restrained',
  ),
  file('no-such-day', changed(4, LINE_4.replace('2025-06-06', '2025-02-30')), 4, 'date', '30 February'),
  file(
    'american-date',
    changed(4, LINE_4.replace('2025-06-06', '06/07/2025')),
    4,
    'date',
    'a date that can be read two ways',
  ),
  file('too-many-cells', changed(4, `${LINE_4},,7`), 4, null, 'more cells than headings'),
  file(
    'decimal-comma',
    changed(4, LINE_4.replace('4 1/16', '4,06')),
    4,
    null,
    'a decimal comma between commas',
  ),
  file('open-quote', changed(5, SOUND[4]!.replace('held"', 'held')), 5, null, 'a quote that never closes'),
  file('utf-16', utf16(`${SOUND.join('\n')}\n`), null, null, 'saved as UTF-16'),
  file(
    'workbook',
    Uint8Array.from([0x50, 0x4b, 3, 4, 20, 0, 6, 0, 8, 0, 0, 0, 33, 0, 0xb5, 0x55]),
    null,
    null,
    'a spreadsheet workbook named .csv',
  ),
  file(
    'sheet-cycle-twice',
    encode('station,cycle 3,cycle 3\n0,4,4\n'),
    1,
    'cycle 3',
    'a field sheet with one cycle twice',
  ),
];

function file(
  name: string,
  bytes: Uint8Array,
  row: number | null,
  column: string | null,
  fault: string,
): BrokenFile {
  return { name: `${name}.csv`, bytes, row, column, fault };
}

export function brokenReadme(): string {
  const rows = BROKEN_FILES.map(
    ({ name, row, column, fault }) => `| \`${name}\` | ${row ?? '-'} | ${column ?? '-'} | ${fault} |`,
  );
  return `# Broken files

Invented readings for the Juniper Lane job, one fault a file: \`sweepbook add\` must refuse each and point at the line
and column named here. \`sound.csv\` is the same file without a fault. Written by \`npm run samples\`.

| file | line | column | what is wrong |
|---|---|---|---|
${rows.join('\n')}
`;
}

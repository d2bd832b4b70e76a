import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { terminalText } from '../../src/cli/terminal-text.ts';
import { inertText } from '../../src/inert-text.ts';
import { type BundledCli, bundleCli } from './run-cli.ts';

// Real processes: minutes on a busy machine, seconds on an idle one.
vi.setConfig({ testTimeout: 600_000, hookTimeout: 600_000 });

/** Text from outside (cells, file names, arguments) that a terminal, a spreadsheet or a page might obey. */
const CLEAR = '\u001b[2J\u001b[H';
const TITLE = '\u001b]0;owned\u0007';
const C1 = '\u009b31m';
const TURN = '\u202e';
const HTML = '<script>alert(1)</script><img src=x onerror=alert(1)>';
const FORMULA = '=HYPERLINK("http://example.invalid","x")';
const EVIL = `${CLEAR}${TITLE}${C1}${TURN}${HTML}`;

// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what must not be there
const ACTIVE = /[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]/u;

let cli: BundledCli;
let top: string;
let job: string;
beforeAll(async () => {
  cli = await bundleCli();
  top = mkdtempSync(join(tmpdir(), 'sweepbook-hostile-'));
  job = join(top, 'job');
  const size = ['--span', '62 ft', '--flange-width', '12 in', '--flange-thickness', '15/16 in'];
  expect((await cli.run(['new', job, ...size, '--name', `Juniper ${EVIL}`, '--positive', EVIL])).status).toBe(
    0,
  );
});
afterAll(() => {
  cli.remove();
  rmSync(top, { recursive: true, force: true });
});

function rows(cycle: number, note: string): string {
  return Array.from({ length: 32 }, (_, i) => {
    const offset = (6 * Math.sin((i * 2 * Math.PI) / 62) ** 2 * (1 - cycle / 10)).toFixed(2);
    return `${cycle},${i * 2},${offset},"${note.replaceAll('"', '""')}"`;
  }).join('\n');
}

describe('hostile text is inert', () => {
  it('in file names, cells and notes, whatever command shows them', async () => {
    const name = `evil ${CLEAR}\n${TURN}sweepbook: all is well.csv`;
    const path = join(top, name);
    writeFileSync(
      path,
      `cycle,station,offset,note\n${rows(0, EVIL)}\n${rows(1, FORMULA)}\n2,10,${EVIL},${FORMULA}\n`,
    );
    const bad = ['add', job, path];
    const commands: (readonly string[])[] = [
      ['check', path],
      ['check', path, '--job', job],
      bad,
      [...bad, '--set-aside'],
      bad,
      ['mark', job, '--file', EVIL, '--row', '3', '--set-aside', '--who', EVIL, '--why', EVIL],
      ['status', job],
      ['status', job, '--json'],
      ['export', job, '--table', 'readings'],
      ['export', job, '--json'],
      ['verify', job],
      ['verify', job, '--json'],
      [EVIL],
      ['add', EVIL, EVIL],
      ['verify', job, '--seal', EVIL],
      ['new', join(top, 'x'), '--span', EVIL, '--flange-width', EVIL, '--flange-thickness', EVIL],
    ];
    for (const args of commands) {
      const ran = await cli.run(args);
      expect(ran.signal, JSON.stringify(args)).toBeNull();
      expect(ran.out, JSON.stringify(args)).not.toMatch(ACTIVE);
      expect(ran.err, JSON.stringify(args)).not.toMatch(ACTIVE);
      expect(ran.err).not.toMatch(/^sweepbook: all is well/m);
      expect(ran.err).not.toMatch(/\n\s+at .*:\d+:\d+/);
    }
    const verified = JSON.parse((await cli.run(['verify', job, '--json'])).out) as {
      files: { file: string }[];
    };
    const kept = verified.files.find(({ file }) => file.startsWith('readings/'))!.file;
    expect(kept).toMatch(/^readings\/[\p{L}\p{N}._-]+\.csv$/u);
    const marked = await cli.run([
      ...[
        'mark',
        job,
        '--file',
        kept,
        '--row',
        '3',
        '--set-aside',
        '--who',
        EVIL,
        '--why',
        `${EVIL}\nsecond line`,
      ],
    ]);
    expect(marked, marked.err).toMatchObject({ status: 0 });
    expect((await cli.run(['mark', job, '--list'])).out).not.toMatch(ACTIVE);
  });

  it('comes through JSON documents unharmed', async () => {
    const { lines: _, ...status } = JSON.parse((await cli.run(['status', job, '--json'])).out);
    expect(status.job).toBe(`Juniper ${EVIL}`);
  });

  it('is no formula in exported CSV and no markup in a report', async () => {
    const { out } = await cli.run(['export', job, '--table', 'readings']);
    expect(out).toContain(`"'${FORMULA.replaceAll('"', '""')}"`);
    expect(out).not.toMatch(/(^|,)"?[=+@]/m);
    const report = join(top, 'report.html');
    const ran = await cli.run(['report', job, '--final', '--plain', '--out', report]);
    expect(ran, ran.err).toMatchObject({ status: 0 });
    const html = readFileSync(report, 'utf8');
    expect(html).not.toContain('<script>alert(1)');
    expect(html).not.toContain('<img src=x');
  });

  it('on a terminal too, where only colour and progress may pass', () => {
    const script = spawnSync('script', ['--version']);
    if (script.status !== 0) return console.warn('NOT TESTED on a terminal: the program `script` is missing');
    // Long enough that the bar, which waits 0.4 s before it shows, shows on any machine.
    const large = join(top, 'large.csv');
    const many = Array.from({ length: 1_000_000 }, (_, i) => `3,${((i % 1000) * 0.06).toFixed(3)},1`).join(
      '\n',
    );
    writeFileSync(large, `cycle,station,offset\n${many}\n`);
    const onTerminal = (...args: string[]) =>
      spawnSync(
        'script',
        ['-qec', [process.execPath, cli.path, ...args].map(quoted).join(' '), '/dev/null'],
        {
          encoding: 'utf8',
          env: { ...process.env, NO_COLOR: '', TERM: 'xterm' },
        },
      ).stdout;
    // What a terminal gets: line ends become CR LF there.
    const rest = (text: string) =>
      text
        .replaceAll('\r\n', '\n')
        // biome-ignore lint/suspicious/noControlCharactersInRegex: colour codes
        .replace(/\u001b\[\d*m/g, '');
    for (const args of [
      ['status', job],
      ['mark', job, '--list'],
      ['check', join(top, 'nothing'), '--job', EVIL],
    ]) {
      expect(rest(onTerminal(...args)), args[0]).not.toMatch(ACTIVE);
    }
    const added = onTerminal('check', large);
    expect(added).toMatch(/\rreading \[#*\.*\] {1,3}\d+ %/);
    expect(rest(added).replaceAll('\r', '')).not.toMatch(ACTIVE);
    // Piped, the same command draws nothing.
    const piped = spawnSync(process.execPath, [cli.path, 'check', large], { encoding: 'utf8' });
    expect(piped.stderr).toBe('');
    expect(piped.stdout).not.toMatch(ACTIVE);
  });
});

function quoted(text: string): string {
  return `'${text.replaceAll("'", "'\\''")}'`;
}

describe('the last guard', () => {
  it('lets colour and redrawing through only where allowed', () => {
    const text = 'a\u001b[31mb\u001b[0m\tc\r\u001b[Kd\u001b[2J\n';
    expect(terminalText(text, { colour: false, redraw: false })).toBe(
      'a\\u001b[31mb\\u001b[0m\tc\\u000d\\u001b[Kd\\u001b[2J\n',
    );
    expect(terminalText(text, { colour: true, redraw: false })).toBe(
      'a\u001b[31mb\u001b[0m\tc\\u000d\\u001b[Kd\\u001b[2J\n',
    );
    expect(terminalText(text, { colour: true, redraw: true })).toBe(
      'a\u001b[31mb\u001b[0m\tc\r\u001b[Kd\\u001b[2J\n',
    );
  });

  it('changes no ordinary text in any script, and no meaning inside JSON', () => {
    for (const text of ['Träger 4, 5′-3½″', '橋桁 北側', 'ظ', '½ in → 12 mm', '👷'])
      expect(inertText(text)).toBe(text);
    const value = { a: 'x\u009by\u2028\u202e\ufeff\u{e0041}', b: '\u001b' };
    const shown = terminalText(JSON.stringify(value), { colour: true, redraw: true });
    expect(JSON.parse(shown)).toEqual(value);
    expect(inertText(JSON.stringify(value))).toBe(shown);
  });
});

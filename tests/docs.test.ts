import {
  copyFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { VERDICTS } from '../src/analysis.ts';
import { COMMANDS } from '../src/cli/commands/index.ts';
import type { Io } from '../src/cli/io.ts';
import { buildProgram } from '../src/cli/program.ts';
import { parseJob } from '../src/job/job-file.ts';
import { runInProcess } from './cli/in-process.ts';

// Instructions for a girder repair may not be stale: the README is held against the program.
const ROOT = new URL('..', import.meta.url).pathname;
const readme = readFileSync(join(ROOT, 'README.md'), 'utf8');
const developers = readFileSync(join(ROOT, 'DEVELOPERS.md'), 'utf8');
const manifest = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as {
  scripts: Record<string, string>;
  version: string;
};

const silent: Io = {
  out: () => {},
  err: () => {},
  isTerminal: false,
  errIsTerminal: false,
  columns: 80,
  colour: false,
  now: () => new Date(0),
  cwd: ROOT,
  setExit: () => {},
};
const program = buildProgram(silent, COMMANDS);

describe('README', () => {
  it('shows a day of the sample as the program says it today', async () => {
    const { out } = await runInProcess(['status', 'sample-surveys/juniper-lane'], COMMANDS, {
      ...{ cwd: ROOT, now: () => new Date('2025-06-07T08:00:00Z') },
    });
    const said = out.slice(out.indexOf('WITHIN TOLERANCE'), out.indexOf('\n\n')).trimEnd();
    expect(said.split('\n').length).toBeGreaterThan(4);
    expect(readme).toContain(`${said}\n\`\`\``);
    const rows = readFileSync(join(ROOT, 'sample-surveys/juniper-lane/readings/cycle-17.csv'), 'utf8');
    const shown = [...readme.matchAll(/^17,[^ \n]* ?[^ \n]*/gm)].map(([row]) => row.trim());
    expect(shown).toHaveLength(2);
    for (const row of shown) expect(rows).toContain(row);
  }, 60_000);

  const rows = [...readme.matchAll(/^\| `([a-z]+)` \|/gm)].map((match) => match[1]!);
  const documented = rows.filter((name) => !(VERDICTS as readonly string[]).includes(name));

  it('lists every command and no other', () => {
    expect([...documented].sort()).toEqual(program.commands.map((command) => command.name()).sort());
  });

  it('explains every verdict word', () => {
    for (const verdict of VERDICTS) expect(readme).toContain(`| \`${verdict}\` |`);
  });

  it('shows only options the commands have', () => {
    const shown = readme.replace(/\\\n\s*/g, ' ').matchAll(/^sweepbook ([a-z]+)([^\n#]*)/gm);
    let count = 0;
    for (const [, name, rest] of shown) {
      const command = program.commands.find((each) => each.name() === name);
      expect(command, name).toBeDefined();
      for (const [option] of rest!.matchAll(/--[a-z-]+/g)) {
        count++;
        expect(
          command!.options.map((each) => each.long),
          `${name} ${option}`,
        ).toContain(option);
      }
    }
    expect(count).toBeGreaterThan(4);
  });

  it('shows a complete job.json that can be used', () => {
    const [, text] = /```json\n(\{[\s\S]*?\n\})\n```/.exec(readme)!;
    const job = parseJob(text!);
    expect(job.jacks).toHaveLength(1);
    expect(job.restraint).not.toBeNull();
    expect(job.plates).toHaveLength(1);
    expect(job.acceptance.some((rule) => rule.preset !== null)).toBe(true);
  });

  it('shows a complete job.json that answers with jacks, restraint and plates on real readings', async () => {
    const [, text] = /```json\n(\{[\s\S]*?\n\})\n```/.exec(readme)!;
    const folder = mkdtempSync(join(tmpdir(), 'sweepbook-readme-'));
    try {
      writeFileSync(join(folder, 'job.json'), text!);
      mkdirSync(join(folder, 'readings'));
      const name = 'cycle-00-as-found.csv';
      copyFileSync(join(ROOT, 'sample-surveys/juniper-lane/readings', name), join(folder, 'readings', name));
      const at = { cwd: folder, now: () => new Date('2026-03-02T08:00:00Z') };
      const heats = await runInProcess(['heats', '.', '--json'], COMMANDS, at);
      expect(heats.status, heats.err).toBe(0);
      const plates = await runInProcess(['plates', '.', '--json'], COMMANDS, at);
      expect(plates.status, plates.err).toBe(0);
      const { restraint } = JSON.parse(heats.out);
      expect(restraint.ceiling.psi).toBeGreaterThan(100);
      expect(restraint.ceiling.jacks).toHaveLength(1);
      const [cover] = JSON.parse(plates.out).plates;
      expect(cover.plate.name).toBe('cover');
      expect(cover.gaps.length).toBeGreaterThan(2);
      // A jack over a diaphragm: where that does not give it bends nothing, and the ways in which it does still count.
      writeFileSync(join(folder, 'job.json'), text!.replace('"station": "27 ft"', '"station": "31 ft"'));
      const over = await runInProcess(['heats', '.', '--json'], COMMANDS, at);
      expect(over.status, over.err).toBe(0);
      expect(JSON.parse(over.out).restraint.governs).not.toBe('rigid');
    } finally {
      rmSync(folder, { recursive: true });
    }
  }, 60_000);

  it('opens with the job in one paragraph', () => {
    expect(readme.split('\n\n')[1]).toMatch(/girder.*tolerance.*as-found against as-left/s);
  });
});

describe('help', () => {
  for (const command of program.commands) {
    it(`${command.name()} has a worked example`, () => {
      let help = '';
      command.configureOutput({
        writeOut: (text) => {
          help += text;
        },
      });
      command.outputHelp();
      expect(help).toMatch(new RegExp(`Example:\\n\\s+sweepbook ${command.name()}`));
    });
  }
});

describe('published data', () => {
  it('every file has its source in the README beside it', () => {
    const folder = join(ROOT, 'tests/published');
    const sources = readFileSync(join(folder, 'README.md'), 'utf8');
    const unnamed = readdirSync(folder, { withFileTypes: true })
      .map((entry) => (entry.isDirectory() ? `${entry.name}/` : entry.name))
      .filter((name) => name !== 'README.md' && !sources.includes(`\`${name}\``))
      // One row stands for Wampler1 to Wampler5.
      .filter((name) => !/^nist_wampler[2-4]\.csv$/.test(name));
    expect(unnamed).toEqual([]);
  });
});

describe('files and scripts the documents name', () => {
  const text = `${readme}\n${developers}`;

  it('every npm script exists', () => {
    for (const [, name] of text.matchAll(/npm run ([a-z:]+)/g))
      expect(manifest.scripts).toHaveProperty(name!);
  });

  it('every path under src, tests, sample-surveys exists', () => {
    const paths = [...text.matchAll(/`((?:src|tests|sample-surveys|reports)\/[\w./-]*)`/g)].map((m) => m[1]!);
    expect(paths.length).toBeGreaterThan(5);
    for (const path of paths) expect(existsSync(join(ROOT, path)), path).toBe(true);
  });

  it('the program says the version of the package', () => {
    expect(program.version()).toBe(manifest.version);
  });
});

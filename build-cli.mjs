// Builds the command line: one file with everything, its compiled code, and the door that starts it.
import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { chmodSync, cpSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';
import { alias } from './build-page.mjs';

const root = fileURLToPath(new URL('.', import.meta.url));
const shared = {
  bundle: true,
  platform: 'node',
  target: 'node20',
  logLevel: 'warning',
  absWorkingDir: root,
  alias,
};

/** Builds the thread that unpacks LAZ chunks into `outdir`. @returns the name of its file */
export async function buildLazWorker(outdir) {
  const { outputFiles } = await build({
    ...shared,
    entryPoints: ['src/cli/scan/laz-worker.ts'],
    write: false,
    format: 'cjs',
    minifySyntax: true,
    minifyWhitespace: true,
  });
  const { text } = outputFiles[0];
  const name = `laz-worker-${digest(text)}.cjs`;
  mkdirSync(outdir, { recursive: true });
  writeFileSync(join(outdir, name), text);
  return name;
}

const digest = (text) => createHash('sha256').update(text).digest('hex').slice(0, 16);

/**
 * @param outdir where it goes
 * @param name of the file that is run
 * @param core digest of the core's script: answers in pages and kept ones are tied to it
 */
export async function buildCli(outdir, name, core) {
  const lazWorker = await buildLazWorker(outdir);
  const { outputFiles } = await build({
    ...shared,
    entryPoints: { program: 'src/cli/main.ts' },
    outdir,
    write: false,
    format: 'cjs',
    charset: 'ascii',
    minifySyntax: true,
    minifyWhitespace: true,
    legalComments: 'external',
    define: {
      SWEEPBOOK_CORE: JSON.stringify(core),
      SWEEPBOOK_LAZ_WORKER: JSON.stringify(lazWorker),
      'import.meta.url': '__url',
    },
    external: ['plotly.js-dist-min', 'laz-perf'],
    // A script compiled by itself has no import(): what is not in it is required.
    supported: { 'dynamic-import': false },
  });
  const text = ascii(outputFiles.find((each) => each.path.endsWith('.js')).text);
  const legal = outputFiles.find((each) => each.path.endsWith('.LEGAL.txt'));
  const program = `program-${digest(text)}.cjs`;
  writeFileSync(join(outdir, program), text);
  if (legal !== undefined) writeFileSync(join(outdir, 'program.LEGAL.txt'), legal.text);
  await build({
    ...shared,
    entryPoints: ['src/cli/launch.ts'],
    outfile: join(outdir, name),
    format: 'esm',
    define: { SWEEPBOOK_PROGRAM: JSON.stringify(program) },
    banner: { js: '#!/usr/bin/env node' },
  });
  chmodSync(join(outdir, name), 0o755);
  await buildCode(join(outdir, program));
}

/** esbuild escapes everything but what stands in patterns; there the same escapes hold. */
function ascii(text) {
  return text.replace(/[\u0080-\uffff]/g, (unit) => `\\u${unit.charCodeAt(0).toString(16).padStart(4, '0')}`);
}

async function buildCode(program) {
  const folder = mkdtempSync(join(tmpdir(), 'sweepbook-code-'));
  try {
    const maker = join(folder, 'code.mjs');
    await build({ ...shared, entryPoints: ['build-code.mjs'], outfile: maker, format: 'esm' });
    const job = join(folder, 'job');
    cpSync(join(root, 'sample-surveys', 'juniper-lane'), job, { recursive: true });
    execFileSync(process.execPath, [maker, program, job], {
      stdio: ['ignore', 'ignore', 'inherit'],
      env: { ...process.env, XDG_STATE_HOME: join(folder, 'state') },
    });
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

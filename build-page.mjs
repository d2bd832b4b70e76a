// Builds the readings page: a script for the page and one for its worker, put into one HTML file with its policy.
import { createHash } from 'node:crypto';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { build } from 'esbuild';

const version = JSON.parse(readFileSync(new URL('./package.json', import.meta.url), 'utf8')).version;
/** Lighter doors to the same packages. */
export const alias = {
  // papaparse's main file asks for Node's streams; its browser file does not, and the core may not.
  papaparse: './node_modules/papaparse/papaparse.min.js',
  // Its main file asks for its parts in a way that no bundler can follow.
  'jsonc-parser': './node_modules/jsonc-parser/lib/esm/main.js',
  // ml-regression's index draws in every regression it has and a matrix package; its straight line is this file.
  'ml-regression': './node_modules/ml-regression-simple-linear/lib-esm/index.js',
};

const shared = {
  bundle: true,
  write: false,
  logLevel: 'warning',
  absWorkingDir: new URL('.', import.meta.url).pathname,
  alias,
};

const browser = {
  ...shared,
  format: 'iife',
  platform: 'browser',
  target: ['chrome109', 'firefox115', 'safari16.4'],
  minify: true,
  charset: 'ascii',
  legalComments: 'none',
};

/** The core's script as it stands in the page, and its SHA-256: answers worked out beforehand are tied to it. */
export async function buildCore() {
  const built = await build({ ...browser, entryPoints: ['src/page/worker.ts'] });
  const { text } = built.outputFiles[0];
  return { text, digest: createHash('sha256').update(text).digest('hex') };
}

/** Writes the page without a job to `file`. */
export async function buildPage(file) {
  const core = await buildCore();
  const script = await build({
    ...browser,
    entryPoints: ['src/page/main.ts'],
    define: { SWEEPBOOK_VERSION: JSON.stringify(version), SWEEPBOOK_CORE: JSON.stringify(core.digest) },
  });
  const maker = await build({
    ...shared,
    entryPoints: ['src/page/page-file.ts'],
    format: 'esm',
    platform: 'neutral',
    mainFields: ['browser', 'module', 'main'],
  });
  const { readingsPage } = await imported(maker.outputFiles[0].text);
  const text = readingsPage(script.outputFiles[0].text, core.text);
  mkdirSync(dirname(file), { recursive: true });
  writeFileSync(file, text);
  return { length: text.length, core: core.digest };
}

/** The module a bundled text makes, by way of a file of its own. */
async function imported(text) {
  const folder = mkdtempSync(join(tmpdir(), 'sweepbook-build-'));
  try {
    const path = join(folder, 'maker.mjs');
    writeFileSync(path, text);
    return await import(pathToFileURL(path).href);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

// Builds the readings page: a script for the page and one for its worker, put into one HTML file with its policy.
import { createHash } from 'node:crypto';
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
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
  absWorkingDir: fileURLToPath(new URL('.', import.meta.url)),
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
  const built = await build({
    ...browser,
    metafile: true,
    entryPoints: ['src/page/worker.ts'],
    // The readers of pictures speak of Node's Buffer as of a global.
    inject: ['src/page/photos/buffer.ts'],
  });
  const { text } = built.outputFiles[0];
  return { text, metafile: built.metafile, digest: createHash('sha256').update(text).digest('hex') };
}

/** Writes the page without a job to `file`, and its installable form into `app` where that is given. */
export async function buildPage(file, app) {
  const core = await buildCore();
  const script = await build({
    ...browser,
    metafile: true,
    entryPoints: ['src/page/main.ts'],
    define: { SWEEPBOOK_VERSION: JSON.stringify(version), SWEEPBOOK_CORE: JSON.stringify(core.digest) },
  });
  const maker = await build({
    ...shared,
    stdin: {
      contents: `export { readingsPage } from './src/page/page-file.ts'; export { appFiles } from './src/page/app-files.ts';`,
      resolveDir: shared.absWorkingDir,
    },
    format: 'esm',
    platform: 'neutral',
    mainFields: ['browser', 'module', 'main'],
  });
  const { readingsPage, appFiles } = await imported(maker.outputFiles[0].text);
  const licences = licenceNotices([script.metafile, core.metafile]);
  const parts = [script.outputFiles[0].text, core.text, licences];
  const text = readingsPage(...parts);
  mkdirSync(dirname(file), { recursive: true });
  writeFileSync(file, text);
  if (app !== undefined) {
    const page = readingsPage(...parts, true);
    mkdirSync(app, { recursive: true });
    for (const [name, content] of Object.entries(
      appFiles(page, createHash('sha256').update(page).digest('hex')),
    ))
      writeFileSync(join(app, name), content);
  }
  return { length: text.length, core: core.digest };
}

/** Licence notices of every package that is in these bundles, which each licence asks to go with its copies. */
function licenceNotices(metafiles) {
  const folders = new Set(
    metafiles.flatMap((each) =>
      Object.keys(each.inputs).flatMap(
        (path) => path.match(/^(.*node_modules\/(?:@[^/]+\/)?[^/]+)\//)?.[1] ?? [],
      ),
    ),
  );
  const byText = new Map();
  for (const folder of [...folders].sort()) {
    const root = new URL(`${folder}/`, new URL('.', import.meta.url));
    const { name, version, license } = JSON.parse(readFileSync(new URL('package.json', root), 'utf8'));
    const notices = readdirSync(root).filter((file) => /^(?:licen[cs]e|notice|copying)/i.test(file));
    const text =
      notices.length === 0
        ? `Licence: ${license}`
        : notices.map((file) => readFileSync(new URL(file, root), 'utf8').trim()).join('\n\n');
    byText.set(text, [...(byText.get(text) ?? []), `${name} ${version}`]);
  }
  return [...byText].map(([text, names]) => `${names.join(', ')}\n\n${text}`).join('\n\n----\n\n');
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

// Builds dist/: the command line, the importable core and the readings page.
import { execFileSync } from 'node:child_process';
import { existsSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { build } from 'esbuild';
import { buildCli } from './build-cli.mjs';
import { alias, buildPage } from './build-page.mjs';

// npm runs this before it packs or links: a build that is already true stays, so that no running copy loses its files.
if (
  process.argv.includes('--if-stale') &&
  builtAfter(['src', 'build.mjs', 'build-cli.mjs', 'build-code.mjs', 'build-page.mjs', 'package-lock.json'])
) {
  process.exit();
}

rmSync('dist', { recursive: true, force: true });

const { core } = await buildPage('dist/readings-page.html', 'dist/readings-app');

const shared = {
  bundle: true,
  format: 'esm',
  target: 'node20',
  logLevel: 'warning',
  sourcemap: false,
  legalComments: 'linked',
  alias,
};

// The command line writes finished answers only into the page that was built of the same source.
await buildCli('dist', 'sweepbook.js', core);

await build({
  ...shared,
  entryPoints: { core: 'src/index.ts' },
  outdir: 'dist',
  platform: 'neutral',
  mainFields: ['browser', 'module', 'main'],
});

// Editors complete and check job.json with this ("$schema": "…/job.schema.json").
const { jobJsonSchema, pastJsonSchema, scanJsonSchema } = await import('./dist/core.js');
writeFileSync('dist/job.schema.json', `${JSON.stringify(jobJsonSchema(), null, 2)}\n`);
writeFileSync('dist/scan.schema.json', `${JSON.stringify(scanJsonSchema(), null, 2)}\n`);
writeFileSync('dist/past.schema.json', `${JSON.stringify(pastJsonSchema(), null, 2)}\n`);

execFileSync(process.execPath, ['node_modules/typescript/bin/tsc', '-p', 'tsconfig.declarations.json'], {
  stdio: 'inherit',
});

/** Whether dist/ was finished after every one of these files, or files in these folders, was last changed. */
function builtAfter(sources) {
  const last = 'dist/core/index.d.ts';
  return existsSync(last) && sources.every((path) => newest(path) < statSync(last).mtimeMs);
}

function newest(path) {
  const { mtimeMs } = statSync(path);
  if (!statSync(path).isDirectory()) return mtimeMs;
  return Math.max(mtimeMs, ...readdirSync(path).map((name) => newest(join(path, name))));
}

import { readdirSync, readFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { describe, expect, it } from 'vitest';

/**
 * The direction of imports is the data flow: read → units → survey → baseline → zones → progress →
 * acceptance → report. A stage may import earlier stages, never later ones; only the edges touch Node or a page.
 */
const ROOT = new URL('..', import.meta.url).pathname;
const SRC = join(ROOT, 'src');

const BASE = ['finding', 'inert-text', 'wrap-text', 'input-error', 'analysis', 'maths', 'units'];
const ALLOWED: Record<string, readonly string[]> = {
  finding: [],
  'inert-text': [],
  'wrap-text': [],
  'input-error': ['inert-text'],
  sha256: [],
  utf8: [],
  maths: [],
  units: ['input-error', 'job'],
  job: ['finding', 'input-error', 'units', 'survey', 'read'],
  analysis: ['finding', 'job', 'survey'],
  survey: [...BASE, 'job', 'read'],
  read: ['finding', 'input-error', 'units', 'job', 'survey'],
  doubts: [...BASE, 'job', 'survey'],
  ledger: ['finding', 'sha256', 'inert-text', 'input-error', 'job', 'survey'],
  baseline: [...BASE, 'job', 'survey'],
  zones: [...BASE, 'job', 'survey', 'baseline'],
  panels: [...BASE, 'job', 'survey'],
  progress: [...BASE, 'job', 'survey', 'acceptance'],
  acceptance: [...BASE, 'job', 'survey'],
  decision: [...BASE, 'job', 'survey'],
  section: [...BASE],
  member: [...BASE, 'job', 'survey'],
  heats: [...BASE, 'job', 'survey', 'read', 'section', 'panels', 'member'],
  costs: ['finding', 'input-error', 'job', 'read', 'heats'],
  checks: ['input-error', 'job', 'read'],
  plan: [...BASE, 'job', 'survey', 'member', 'heats', 'costs', 'past'],
  past: [...BASE, 'job', 'survey', 'member', 'heats', 'costs'],
  practice: [...BASE, 'job', 'survey', 'decision', 'heats'],
  plates: [...BASE, 'job', 'survey', 'baseline', 'acceptance', 'panels'],
  scan: [...BASE, 'job', 'survey', 'read', 'panels'],
  'analyse-line': [...BASE, 'job', 'survey', 'zones', 'panels', 'progress', 'acceptance'],
  conclude: [
    ...BASE,
    'job',
    'survey',
    'doubts',
    'member',
    'progress',
    'acceptance',
    'decision',
    'analyse-line',
  ],
  analyse: ['analysis', 'finding', 'job', 'survey', 'analyse-line', 'conclude'],
  answer: ['analysis', 'job', 'survey', 'analyse-line'],
  export: [...BASE, 'job', 'survey'],
  status: [...BASE, 'job', 'survey', 'decision', 'analyse', 'member'],
  report: [
    ...BASE,
    'sha256',
    'job',
    'survey',
    'decision',
    'status',
    'heats',
    'plates',
    'scan',
    'panels',
    'costs',
    'plan',
    'checks',
    'member',
  ],
  folder: [
    'finding',
    'inert-text',
    'wrap-text',
    'input-error',
    'sha256',
    'utf8',
    'job',
    'survey',
    'read',
    'ledger',
  ],
  papers: [
    ...BASE,
    ...['sha256', 'utf8', 'job', 'survey', 'ledger', 'folder', 'conclude', 'analyse', 'heats', 'costs'],
    ...['checks', 'past', 'plan', 'plates', 'practice', 'export', 'status', 'report'],
  ],
};
const EDGES = new Set(['cli', 'page', 'index']);
/** What each edge must not reach into: the command line writes the page, so the page knows nothing of it. */
const FORBIDDEN: Record<string, readonly string[]> = { page: ['cli', 'index'], cli: ['index'] };

function sources(folder: string): string[] {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
    const path = join(folder, entry.name);
    if (entry.isDirectory()) return sources(path);
    return entry.name.endsWith('.ts') ? [path] : [];
  });
}

function stageOf(path: string): string {
  return relative(SRC, path).split('/')[0]!.replace(/\.ts$/, '');
}

/** Stages every number of the status document goes through. */
const NUMERIC = new Set([
  'survey',
  'baseline',
  'zones',
  'panels',
  'progress',
  'acceptance',
  'decision',
  'member',
  'maths',
  'units',
  'analyse',
  'analyse-line',
  'conclude',
  'status',
]);

const files = sources(SRC).filter((path) => !path.endsWith('.d.ts'));

const core = files.filter((path) => !EDGES.has(stageOf(path)));

/** Code without its comments. */
function codeOf(path: string): string {
  return readFileSync(path, 'utf8').replace(/\/\*[\s\S]*?\*\/|\/\/.*$/gm, '');
}

/** Every file of these that has a match, with what matched: empty is good, and a failure names them all. */
function offenders(paths: readonly string[], pattern: RegExp): string[] {
  return paths.flatMap((path) => {
    const found = codeOf(path).match(pattern);
    return found === null ? [] : [`${relative(SRC, path)}: ${found[0]}`];
  });
}

/** The files of ours a file imports, types and late imports included. */
function targetsOf(path: string): string[] {
  return [...codeOf(path).matchAll(/(?:from|import)\s*\(?\s*'(\.[^']+)'/g)].map(([, target]) =>
    join(path, '..', target!),
  );
}

/** Every circle a walk over the graph closes, as the names along it. */
function circles(graph: ReadonlyMap<string, readonly string[]>): string[] {
  const found: string[] = [];
  const done = new Set<string>();
  const trail: string[] = [];
  const walk = (node: string): void => {
    const at = trail.indexOf(node);
    if (at >= 0) found.push([...trail.slice(at), node].map((each) => relative(SRC, each)).join(' > '));
    if (at >= 0 || done.has(node)) return;
    trail.push(node);
    for (const next of graph.get(node) ?? []) walk(next);
    trail.pop();
    done.add(node);
  };
  for (const node of graph.keys()) walk(node);
  return found;
}

describe('import directions', () => {
  it('reads the source tree', () => {
    expect(files.length).toBeGreaterThan(5);
    expect(offenders(core, /\bexport\b/).length).toBeGreaterThan(5);
  });

  it('every stage is in the import table', () => {
    expect(core.filter((path) => ALLOWED[stageOf(path)] === undefined)).toEqual([]);
  });

  it('stages import earlier stages only', () => {
    const wrong = core.flatMap((path) => {
      const stage = stageOf(path);
      return targetsOf(path).flatMap((target) => {
        const to = stageOf(target);
        return to === stage || ALLOWED[stage]?.includes(to)
          ? []
          : [`${relative(SRC, path)}: ${relative(SRC, target)}`];
      });
    });
    expect(wrong).toEqual([]);
  });

  it('of the edges, only the command line knows the other', () => {
    const wrong = files.flatMap((path) =>
      targetsOf(path)
        .filter((target) => FORBIDDEN[stageOf(path)]?.includes(stageOf(target)))
        .map((target) => `${relative(SRC, path)}: ${relative(SRC, target)}`),
    );
    expect(wrong).toEqual([]);
  });

  it('no file imports itself round a circle, not even for a type', () => {
    expect(circles(new Map(files.map((path) => [path, targetsOf(path)])))).toEqual([]);
    // The search itself finds what is there: a circle of two, one of three, and none in a chain.
    const graph = (edges: Record<string, string[]>) => new Map(Object.entries(edges));
    expect(circles(graph({ a: ['b'], b: ['c'], c: [] }))).toEqual([]);
    expect(circles(graph({ a: ['b'], b: ['a'] })).length).toBe(1);
    expect(circles(graph({ a: ['b'], b: ['c'], c: ['d'], d: ['b'] })).length).toBe(1);
  });

  it('the core is pure', () => {
    const impure = /from 'node:|require\(|\bprocess\.|\bDate\.now\(|new Date\(\)|Math\.random\(|\bconsole\./;
    expect(offenders(core, impure)).toEqual([]);
  });

  it('every number comes out with the same digits in every engine', () => {
    // Use src/maths/portable.ts: engines are free to round these their own way.
    const unportable =
      /\bMath\.(?:exp|expm1|log|log1p|log2|log10|pow|a?sinh?|a?cosh?|a?tanh?|atan2|cbrt|hypot)\(/;
    expect(
      offenders(
        core.filter((path) => NUMERIC.has(stageOf(path))),
        unportable,
      ),
    ).toEqual([]);
  });
});

import { describe, expect, it } from 'vitest';
import type { Plan } from '../../src/plan/plan.ts';
import { htmlText } from '../../src/report/html.ts';
import { plannedSection } from '../../src/report/planned-section.ts';
import { syntheticAnalysis } from './synthetic-analysis.ts';

const { job } = syntheticAnalysis();
const plan = {
  level: 0.8,
  cycles: { low: 8, median: 12, high: 20 },
  days: { low: 14, median: 18, high: null },
  cost: { low: 20_000, median: 30_000, high: 41_234.5 },
  currency: 'USD',
} as Plan;
const sums = (days: number, minor: number, currency = 'USD') =>
  ({
    currency,
    total: minor,
    byKind: [{ of: 'labour', amount: minor, hours: null, rows: [] }],
    days: { all: Array.from({ length: days }, (_, i) => `2026-03-${10 + i}`), byWork: [], unsaid: [] },
  }) as never;
const text = (actual: Parameters<typeof plannedSection>[2], of = plan): string =>
  htmlText(plannedSection(job, { plan: of, reason: null, needed: null }, actual)!.body)
    .replace(/<[^>]+>/g, ' ')
    .replace(/\u00a0/g, ' ')
    .replace(/\s+/g, ' ');

describe('planned against actual', () => {
  it('says for each where the actual lies', () => {
    const said = text({ cycles: 12, inside: true, sums: sums(13, 41_234_51) });
    expect(said).toContain('Cycles 12 8 to 20 12 in it');
    expect(said).toContain('Working days 18 14 to may be never 13 below it');
    expect(said).toContain('Cost 30,000 USD 20,000 USD to 41,235 USD 41,234.51 USD above it');
    expect(said).not.toContain('no saving');
    expect(said).not.toContain('restraining force');
  });

  it('says that no restraining force was planned with, where the job gave none', () => {
    expect(text({ cycles: 12, inside: true, sums: null }, { ...plan, unforced: true })).toContain(
      'its vees without a restraining force, which the job does not give,',
    );
  });

  it('does not call less than planned a saving where the limit was not reached, nor compare two currencies', () => {
    const said = text({ cycles: 5, inside: false, sums: sums(20, 10_000_00, 'EUR') });
    expect(said).toContain('less than planned is no saving');
    expect(said).toContain('10,000.00 EUR');
    expect(said).not.toMatch(/10,000\.00 EUR (below|in|above)/);
  });

  it('guesses nothing that is not recorded, and is silent before the first heat', () => {
    const said = text({ cycles: 21, inside: true, sums: null });
    expect(said).toContain('Cycles 12 8 to 20 21 above it');
    expect(said).toMatch(/Working days 18 14 to may be never not recorded Cost .* not recorded/);
    expect(
      plannedSection(job, { plan, reason: null, needed: null }, { cycles: 0, inside: false, sums: null }),
    ).toBeNull();
    const none = plannedSection(
      job,
      { plan: null, reason: 'no limit', needed: 'a limit' },
      { cycles: 3, inside: false, sums: null },
    );
    expect(htmlText(none!.body)).toContain('there is no plan: no limit.');
  });
});

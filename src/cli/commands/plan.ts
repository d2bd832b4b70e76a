import { relative, resolve } from 'node:path';
import type { AddCommand } from '../program.ts';

export const addPlan: AddCommand = (program, io) => {
  program
    .command('plan')
    .description('how many cycles, working days, closures and what cost are ahead, each with its interval')
    .argument('<job>', 'job folder')
    .option('--past <folder>', 'folder of finished jobs (default: $SWEEPBOOK_PAST)')
    .option('--json', 'print the plan as JSON (schema sweepbook/plan/1, SI units)')
    .option('--sheet', 'write it as one page for the front office')
    .option('--out <file>', 'where to write the page (default: reports/plan.html of the job)')
    .addHelpText(
      'after',
      `
Before the first heat the zones as found are worked off with vees as planned; later the readings' own forecast
counts. "plan" in job.json gives the start, working days, closure hours, vees a cycle, days of other work and cost
of a day; what it leaves out comes from finished jobs ('sweepbook past'), else from common practice, and is said.

Example:
  sweepbook plan juniper-lane-girder-4 --past finished-jobs
`,
    )
    .action(async (given: string, options: { past?: string; json?: boolean; sheet?: true; out?: string }) => {
      const [{ heatsOfFolder }, { costLogOf }, { sumCosts }, { planJob }, { planText }, past] =
        await Promise.all([
          import('../store/heats-of-folder.ts'),
          import('../store/costs-of-folder.ts'),
          import('../../costs/sums.ts'),
          import('../../plan/plan.ts'),
          import('../../plan/plan-text.ts'),
          import('../past-folder.ts'),
        ]);
      const { InputError } = await import('../../input-error.ts');
      const folder = resolve(io.cwd, given);
      const { analysis, heats, log } = await heatsOfFolder(folder);
      const { job } = analysis;
      const costs = sumCosts(costLogOf(folder, job).log, log, job.currency);
      const from = past.pastFolder(io, options.past);
      const { lines, problems } = from === null ? { lines: [], problems: [] } : past.readPastFolder(from);
      past.tellProblems(io, problems);
      const { plan, reason } = planJob({
        analysis,
        heats,
        past: lines.map((line) => line.record),
        daysDone: Object.fromEntries(costs.days.byWork.map(({ work, dates }) => [work, dates.length])),
      });
      if (plan === null) {
        throw new InputError('There is nothing to plan with.', [
          {
            file: 'job.json',
            found: reason,
            expected: 'a job that says where work stops and what a heat does',
          },
        ]);
      }
      if (options.sheet !== undefined) {
        const [{ renderPlanSheet }, { sheetPath, writeSheet }] = await Promise.all([
          import('../../report/plan-sheet.ts'),
          import('../write-sheet.ts'),
        ]);
        const path = sheetPath(folder, 'plan.html', options.out, io);
        const facts = {
          generated: io.now().toISOString().slice(0, 10),
          tool: `Sweepbook ${program.version()}`,
        };
        await writeSheet(folder, path, renderPlanSheet(job, plan, facts));
        io.out(`${relative(io.cwd, path) || path}\n`);
        return;
      }
      io.out(
        options.json === true
          ? `${JSON.stringify({ schema: 'sweepbook/plan/1', units: 'SI', ...withoutParts(plan) }, null, 2)}\n`
          : planText(job, plan, io.columns),
      );
    });
};

/** The mixtures behind the intervals are the program's own. */
function withoutParts<T extends { readonly learnt: readonly { readonly pooled: unknown }[] }>(plan: T) {
  return { ...plan, learnt: plan.learnt.map(({ pooled: _pooled, ...each }) => each) };
}

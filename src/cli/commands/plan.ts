import { relative, resolve } from 'node:path';
import type { Command } from 'commander';
import type { AddCommand } from '../program.ts';

interface PlanOptions {
  readonly past?: string;
  readonly json?: boolean;
  readonly sheet?: true;
  readonly out?: string;
}

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
counts. Every line and panel outside its limit is in it: lines of one flange share heats, one crew works the zones of
several parts, bulges follow. "plan" in job.json gives the start, working days, closure hours, vees a cycle, days of other work and cost
of a day; what it leaves out comes from finished jobs ('sweepbook past'), else from common practice, and is said.
Where the readings say stalled and the job gives plates, the plates that end the heating are planned; beside a line that
opens or is past straight there is no plan, and what has to come first is said.

Example:
  sweepbook plan juniper-lane-girder-4 --past finished-jobs
`,
    )
    .action(async (given: string, options: PlanOptions, command: Command) => {
      if (options.sheet !== undefined && options.json === true)
        command.error('error: --sheet writes a page, --json prints: one of the two', { exitCode: 2 });
      if (options.out !== undefined && options.sheet === undefined)
        command.error('error: --out says where --sheet writes its page: give --sheet with it', {
          exitCode: 2,
        });
      const [{ atHand }, { planAt, planPaper }, { planText }, past] = await Promise.all([
        import('../at-hand.ts'),
        import('../../papers/papers.ts'),
        import('../../plan/plan-text.ts'),
        import('../past-folder.ts'),
      ]);
      const folder = resolve(io.cwd, given);
      const at = await atHand(folder);
      const { job } = at.opened;
      const from = past.pastFolder(io, options.past);
      const { lines, problems } = from === null ? { lines: [], problems: [] } : past.readPastFolder(from);
      past.tellProblems(io, problems);
      const plan = planAt(
        at,
        lines.map((line) => line.record),
      );
      if (options.sheet !== undefined) {
        const [{ madeBy }, { sheetPath, writeSheet }] = await Promise.all([
          import('../made-by.ts'),
          import('../write-sheet.ts'),
        ]);
        const paper = planPaper(at, plan, madeBy(io, `Sweepbook ${program.version()}`));
        const path = sheetPath(folder, paper.file, options.out, io);
        await writeSheet(folder, path, paper.text);
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

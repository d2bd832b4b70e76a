import { randomUUID } from 'node:crypto';
import { relative, resolve } from 'node:path';
import { type Command, Option } from 'commander';
import { InputError } from '../../input-error.ts';
import type { PracticeFile } from '../../practice/file.ts';
import type { Io } from '../io.ts';
import type { AddCommand } from '../program.ts';
import { shellWord } from '../shell-word.ts';

export const addPractice: AddCommand = (program, io) => {
  const practice = program
    .command('practice')
    .description('straighten a simulated girder before a real one: new, heat, read, reveal')
    .addHelpText(
      'after',
      `
A practice is a job folder like any other, marked PRACTICE everywhere, on a girder whose truth is kept back. Choose
vees, jacks and temperature; the sheet of the next cycle is written for you to add; at the end see what was true.

Example:
  sweepbook practice new first-try --seed 7
  sweepbook add first-try first-try/sheets/cycle-00.csv
  sweepbook status first-try
  sweepbook practice heat first-try --vees "29 ft, 31 ft" --pressure "1500 psi" --temperature "1150 F"
  sweepbook practice reveal first-try
`,
    );
  addPracticeNew(practice, io);
  addPracticeHeat(practice, io);
  addPracticeRead(practice, io);
  addPracticeReveal(practice, io);
};

interface NewPractice {
  readonly seed?: string;
  readonly units: 'us' | 'si';
  readonly blows: '1' | '2';
  readonly spacing?: string;
  readonly jacks?: string;
}

function addPracticeNew(practice: Command, io: Io): void {
  practice
    .command('new')
    .description('start a practice: a struck girder, its job folder and the as-found sheet')
    .argument('<folder>', 'folder to make; it must be new or empty')
    .option(
      '--seed <text>',
      'which girder: the same seed is the same girder (default: another one each time)',
    )
    .addOption(
      new Option('--units <units>', 'feet and inches, or metres').choices(['us', 'si']).default('us'),
    )
    .addOption(new Option('--blows <count>', 'blows the girder took').choices(['1', '2']).default('1'))
    .option('--spacing <length>', 'between the stations read (default: 2 ft or 0.5 m)')
    .option('--jacks <stations>', 'where the jacks stand, with commas between (default: one at the blow)')
    .action(async (given: string, options: NewPractice, command: Command) => {
      const [{ createJob, SCHEMA_REFERENCE }, { jobJsonSchema }, { jobOfText }, { practiceJob }, folders] =
        await Promise.all([
          import('../store/create-job.ts'),
          import('../../job/job-schema.ts'),
          import('../store/read-job-file.ts'),
          import('../../practice/job.ts'),
          import('../practice-folder.ts'),
        ]);
      const { parsePractice, practiceText } = await import('../../practice/file.ts');
      const { PRACTICE_WARNING } = await import('../../job/practice-mark.ts');
      const folder = resolve(io.cwd, given);
      const length = await lengthReader(options.units, command);
      const id = randomUUID();
      const file = parsePractice(
        JSON.stringify({
          schema: 'sweepbook/practice/1',
          warning: PRACTICE_WARNING,
          setUp: {
            seed: options.seed ?? id.slice(0, 8),
            units: options.units,
            blows: Number(options.blows),
            spacing: length('--spacing', options.spacing ?? (options.units === 'us' ? '2 ft' : '0.5 m')),
          },
          cycles: [{ heat: null, underLoad: [false] }],
        }),
      );
      const begun = (await import('../../practice/replay.ts')).replay(file);
      const jacks = options.jacks?.split(',').map((each) => each.trim()) ?? null;
      const draft = practiceJob(file.setUp, begun.truth, jacks, id, SCHEMA_REFERENCE);
      const text = `${JSON.stringify(draft, null, 2)}\n`;
      jobOfText(folder, text, 'the job of this practice');
      const schema = `${JSON.stringify(jobJsonSchema(), null, 2)}\n`;
      await createJob(
        folder,
        { job: text, schema, id: `${draft.id}` },
        draft.job,
        io.now().toISOString(),
        15_000,
      );
      folders.keepPractice(folder, parsePractice(practiceText(file)));
      const sheet = folders.writeSheetOf(folder, begun);
      io.out(`${PRACTICE_WARNING}\n${draft.job}: started in ${given}.\n`);
      tellSheet(io, given, sheet);
    });
}

interface HeatPractice {
  readonly vees: string;
  readonly angle?: string;
  readonly temperature?: string;
  readonly before?: string;
  readonly pressure?: string;
  readonly underLoad?: true;
}

function addPracticeHeat(practice: Command, io: Io): void {
  practice
    .command('heat')
    .description('make the vees of the next cycle, and get the sheet that was read afterwards')
    .argument('<job>', 'folder of the practice')
    .requiredOption(
      '--vees <stations>',
      'stations with commas between, such as "29 ft, 31 ft"; one open toward the positive or negative side of its own choosing as "29 ft:+" or "29 ft:-"',
    )
    .option('--angle <angle>', 'vee angle (default: as `sweepbook heats` plans it)')
    .option('--temperature <temperature>', 'steel temperature reached (default: as planned)')
    .option(
      '--before <temperature>',
      'steel temperature before each vee (default: 70 F or 20 C: it had cooled)',
    )
    .option('--pressure <pressure>', 'gauge pressure of the jacks (default: jacks off)')
    .option('--under-load', 'read with the jacks still on, and write it down so')
    .action(async (given: string, options: HeatPractice) => {
      const folder = resolve(io.cwd, given);
      const { proposeHeat } = await import('../../practice/propose.ts');
      const { replay } = await import('../../practice/replay.ts');
      const { atHand } = await import('../at-hand.ts');
      const { heatsAt } = await import('../../papers/papers.ts');
      const { heatLogText, inPractice, keepPractice, writeHeatLog, writeSheetOf } = await import(
        '../practice-folder.ts'
      );
      const { findingLine } = await import('../../folder/finding-line.ts');
      await inPractice(folder, async ({ file }) => {
        const at = await atHand(folder);
        const standing = { analysis: at.analysis, heats: heatsAt(at), log: heatLogText(folder) };
        const proposed = proposeHeat(standing, file, options, io.now().toISOString().slice(0, 10));
        for (const finding of proposed.said) io.err(`${findingLine(finding)}\n`);
        if (proposed.refused.length > 0) {
          for (const finding of proposed.refused) io.err(`${findingLine(finding)}\n`);
          throw new InputError('no heat was made: put right what is marked above, and try again.');
        }
        const next: PracticeFile = {
          ...file,
          cycles: [...file.cycles, { heat: proposed.heat, underLoad: [options.underLoad === true] }],
        };
        // The log first: a practice stopped between the two is told that its log is ahead.
        writeHeatLog(folder, proposed.log);
        keepPractice(folder, next);
        const sheet = writeSheetOf(folder, replay(next));
        io.out(
          `Cycle ${proposed.heat.cycle}: ${proposed.heat.vees.length} vee${proposed.heat.vees.length === 1 ? '' : 's'} made, logged in heats.csv.\n`,
        );
        tellSheet(io, given, sheet);
      });
    });
}

function addPracticeRead(practice: Command, io: Io): void {
  practice
    .command('read')
    .description('read the girder again as it stands, jacks off, and get the sheet')
    .argument('<job>', 'folder of the practice')
    .action(async (given: string) => {
      const folder = resolve(io.cwd, given);
      const { inPractice, keepPractice, writeSheetOf } = await import('../practice-folder.ts');
      const { replay } = await import('../../practice/replay.ts');
      await inPractice(folder, async ({ file }) => {
        const last = file.cycles.at(-1)!;
        const cycles = [...file.cycles.slice(0, -1), { ...last, underLoad: [...last.underLoad, false] }];
        keepPractice(folder, { ...file, cycles });
        tellSheet(io, given, writeSheetOf(folder, replay({ ...file, cycles })));
      });
    });
}

function addPracticeReveal(practice: Command, io: Io): void {
  practice
    .command('reveal')
    .description(
      'end it: the truth beside what the tool said, bend by bend and cycle by cycle; no heat is made afterwards',
    )
    .argument('<job>', 'folder of the practice')
    .option('--json', 'print it as JSON (schema sweepbook/practice-reveal/1, SI units)')
    .action(async (given: string, options: { json?: boolean }) => {
      const folder = resolve(io.cwd, given);
      const [{ inPractice, keepPractice }, { openJob }, { revealAt }, { revealText }, { withTruthShown }] =
        await Promise.all([
          import('../practice-folder.ts'),
          import('../store/open-job.ts'),
          import('../../papers/reveal-paper.ts'),
          import('../../practice/reveal.ts'),
          import('../../practice/file.ts'),
        ]);
      const { analysis, revealed, practice } = await inPractice(folder, async (begun) => {
        const shown = revealAt(await openJob(folder), begun);
        // Kept before it is told: from here on no heat is made.
        keepPractice(folder, withTruthShown(begun.file));
        return { ...shown, practice: begun };
      });
      const { PRACTICE_WARNING } = await import('../../job/practice-mark.ts');
      io.out(
        options.json === true
          ? `${JSON.stringify({ schema: 'sweepbook/practice-reveal/1', warning: PRACTICE_WARNING, seed: practice.file.setUp.seed, ...revealed }, null, 2)}\n`
          : revealText(analysis, revealed, io.columns),
      );
    });
}

function tellSheet(io: Io, job: string, sheet: string): void {
  const path = relative(io.cwd, sheet) || sheet;
  io.out(`The sheet: ${path}\n`);
  io.err(`Next: sweepbook add ${shellWord(job)} ${shellWord(path)}\n`);
}

/** Reads a length option in the units of a practice; a usage error where it is none. */
async function lengthReader(units: 'us' | 'si', command: Command) {
  const { parseLength } = await import('../../units/parse-length.ts');
  return (name: string, text: string): number => {
    const parsed = parseLength(text, { unit: units === 'us' ? 'ft' : 'm', dashed: null, station: true });
    if (!parsed.ok)
      command.error(`error: option '${name}' is ${parsed.expected}, not '${text}'`, { exitCode: 2 });
    return parsed.metres;
  };
}

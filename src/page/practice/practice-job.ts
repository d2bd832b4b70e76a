import type { Analysis } from '../../analysis.ts';
import type { Finding } from '../../finding.ts';
import { HEAT_LOG_FILE } from '../../folder/names.ts';
import { heatsOfJob } from '../../heats/heats-of-job.ts';
import { InputError } from '../../input-error.ts';
import { parseJob } from '../../job/job-file.ts';
import { PRACTICE_WARNING } from '../../job/practice-mark.ts';
import { heldBy, readLogs } from '../../papers/logs.ts';
import {
  PRACTICE_FILE,
  type PracticeFile,
  parsePractice,
  practiceText,
  withTruthShown,
} from '../../practice/file.ts';
import { practiceJob } from '../../practice/job.ts';
import { type HeatWords, proposeHeat } from '../../practice/propose.ts';
import { newestSheet, replay } from '../../practice/replay.ts';
import { parseLength } from '../../units/parse-length.ts';
import { utf8Bytes } from '../../utf8.ts';
import { bundleOf, type JobBundle } from '../job-bundle.ts';
import { dryRun, imported } from '../ledger/imports.ts';
import { reread, withRecord } from '../ledger/record.ts';
import { openBundle } from '../open-bundle.ts';

/** What the form of a new practice asks, as keyed. */
export interface NewPractice {
  readonly seed: string;
  readonly units: 'us' | 'si';
  readonly blows: string;
  readonly jacks: string;
}

/** When, and ids nobody has. */
interface Moment {
  /** ISO date-time, UTC. */
  readonly when: string;
  readonly fresh: string;
}

/**
 * A practice with its as-found sheet read: the job, `practice.json` beside it, and a ledger, as `sweepbook practice new`
 * and `add` make them.
 *
 * @throws InputError with what is wrong in the form
 */
export function begunPractice(given: NewPractice, { when, fresh }: Moment): JobBundle {
  const us = given.units === 'us';
  const step = parseLength(us ? '2 ft' : '0.5 m', { unit: us ? 'ft' : 'm', dashed: null, station: true });
  if (!step.ok) throw new Error('a length of our own is none');
  const file = parsePractice(
    JSON.stringify({
      schema: 'sweepbook/practice/1',
      warning: PRACTICE_WARNING,
      setUp: {
        seed: given.seed.trim() === '' ? fresh.slice(-8) : given.seed.trim(),
        units: given.units,
        blows: given.blows === '2' ? 2 : 1,
        spacing: step.metres,
      },
      cycles: [{ heat: null, underLoad: [false] }],
    }),
  );
  const jacks = given.jacks.trim() === '' ? null : given.jacks.split(',').map((each) => each.trim());
  const { $schema: _, ...draft } = practiceJob(file.setUp, replay(file).truth, jacks, fresh, '');
  const job = `${JSON.stringify(draft, null, 2)}\n`;
  parseJob(job, { file: 'the form' });
  const bundle = { ...bundleOf(job), others: [{ file: PRACTICE_FILE, text: practiceText(file) }] };
  const started = withRecord(bundle, { kind: 'start', job: draft.job }, when, fresh);
  return withSheet(started, file, { when, fresh });
}

/** What the practice keeps; null where it came without its file. @throws InputError with every fault of the file */
export function practiceOf({ others }: JobBundle): PracticeFile | null {
  const text = others.find(({ file }) => file === PRACTICE_FILE)?.text;
  return text === undefined ? null : parsePractice(text);
}

/**
 * The practice after the heats of its next cycle, logged, the girder read and the sheet imported.
 *
 * @param analysis of the job as it stands
 * @param underLoad read with the jacks on, and written down so
 * @param date ISO date of the heats
 * @returns what the tool thinks of the heat, too
 * @throws InputError where a word cannot be read, or the job's own checks call the heat dangerous: nothing is then made
 */
export function heated(
  bundle: JobBundle,
  analysis: Analysis,
  words: HeatWords,
  underLoad: boolean,
  date: string,
  moment: Moment,
): { readonly bundle: JobBundle; readonly said: readonly Finding[] } {
  const practice = neededOf(bundle);
  const log = bundle.others.find(({ file }) => file === HEAT_LOG_FILE)?.text ?? '';
  const bytes = (file: string) => (file === HEAT_LOG_FILE && log !== '' ? utf8Bytes(log) : null);
  const heats = heatsOfJob(analysis, heldBy(readLogs({ bytes }, analysis.job).heats));
  const { heat, refused, said, log: text } = proposeHeat({ analysis, heats, log }, practice, words, date);
  if (refused.length > 0) {
    throw new InputError(
      `No heat was made: put this right, and try again. ${refused.map(({ message }) => message).join(' ')}`,
    );
  }
  const next = { ...practice, cycles: [...practice.cycles, { heat, underLoad: [underLoad] }] };
  const others = bundle.others.filter(({ file }) => file !== HEAT_LOG_FILE);
  const logged = { ...bundle, others: [...others, { file: HEAT_LOG_FILE, text }] };
  return { bundle: withSheet(logged, next, moment), said };
}

/** The practice with the girder read once more as it stands, jacks off. */
export function readAgain(bundle: JobBundle, moment: Moment): JobBundle {
  const practice = neededOf(bundle);
  const last = practice.cycles.at(-1)!;
  const cycles = [...practice.cycles.slice(0, -1), { ...last, underLoad: [...last.underLoad, false] }];
  return withSheet(bundle, { ...practice, cycles }, moment);
}

/** The practice with its truth shown: no heat is made afterwards. */
export function truthShown(bundle: JobBundle): JobBundle {
  const practice = withTruthShown(neededOf(bundle));
  const others = bundle.others.filter(({ file }) => file !== PRACTICE_FILE);
  return reread({ ...bundle, others: [...others, { file: PRACTICE_FILE, text: practiceText(practice) }] });
}

function neededOf(bundle: JobBundle): PracticeFile {
  const practice = practiceOf(bundle);
  if (practice !== null) return practice;
  throw new InputError('This practice came without its practice.json: its girder cannot be heated here.');
}

/** The practice as it stands now, its newest sheet imported as a crew would import it. */
function withSheet(bundle: JobBundle, practice: PracticeFile, { when, fresh }: Moment): JobBundle {
  const others = bundle.others.filter(({ file }) => file !== PRACTICE_FILE);
  const now = reread({
    ...bundle,
    others: [...others, { file: PRACTICE_FILE, text: practiceText(practice) }],
  });
  const { name, csv } = newestSheet(replay(practice));
  const opened = openBundle(now);
  return imported(now, opened, dryRun(now, opened, [{ path: name, text: csv }]), false, when, fresh);
}

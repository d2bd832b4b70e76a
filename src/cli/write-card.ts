import { dirname, resolve, sep } from 'node:path';
import { InputError } from '../input-error.ts';
import { renderCrewCard } from '../report/crew-card.ts';
import { judgedSurveys } from '../survey/judged.ts';
import type { Io } from './io.ts';
import { withFolderLock } from './store/folder-lock.ts';
import { heatsOfFolder } from './store/heats-of-folder.ts';
import { inJob, REPORTS_FOLDER } from './store/layout.ts';
import { makeFolder } from './store/make-folder.ts';
import { writeAtomic } from './store/write-atomic.ts';

/**
 * Writes the crew card of a job folder, whole or not at all, and returns its path.
 *
 * @throws InputError when the job cannot be read, or the target is not an .html file
 */
export async function writeCard(
  folder: string,
  out: string | undefined,
  tool: string,
  io: Io,
): Promise<string> {
  const path = out === undefined ? inJob(folder, `${REPORTS_FOLDER}/crew-card.html`) : resolve(io.cwd, out);
  // A card can then never take the place of readings, job.json or the ledger.
  if (!/\.html?$/i.test(path)) throw new InputError(`${out}: a card is an .html file; name it so`);
  const { analysis, heats } = await heatsOfFolder(folder);
  const judged = analysis.lines.flatMap((l) => judgedSurveys(l.fit));
  const text = renderCrewCard(analysis.job, heats, {
    generated: io.now().toISOString().slice(0, 10),
    tool,
    within: analysis.lines.filter((l) => l.progress.verdict === 'within-tolerance').map((l) => l.line.name),
    cycle: judged.length === 0 ? null : Math.max(...judged.map((s) => s.cycle)),
  });
  const write = async (): Promise<void> => {
    makeFolder(dirname(path));
    writeAtomic(path, text);
  };
  if (path.startsWith(folder + sep)) await withFolderLock(folder, 15_000, write);
  else await write();
  return path;
}

import { renderCrewCard } from '../report/crew-card.ts';
import { judgedSurveys } from '../survey/judged.ts';
import type { Io } from './io.ts';
import { heatsOfFolder } from './store/heats-of-folder.ts';
import { sheetPath, writeSheet } from './write-sheet.ts';

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
  const path = sheetPath(folder, 'crew-card.html', out, io);
  const { analysis, heats } = await heatsOfFolder(folder);
  const judged = analysis.lines.flatMap((l) => judgedSurveys(l.fit));
  const text = renderCrewCard(analysis.job, heats, {
    generated: io.now().toISOString().slice(0, 10),
    tool,
    lines: analysis.lines,
    within: analysis.lines.filter((l) => l.progress.verdict === 'within-tolerance').map((l) => l.line.name),
    cycle: judged.length === 0 ? null : Math.max(...judged.map((s) => s.cycle)),
  });
  await writeSheet(folder, path, text);
  return path;
}

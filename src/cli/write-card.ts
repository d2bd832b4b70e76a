import type { Io } from './io.ts';
import { keptPaper } from './kept-papers.ts';
import { madeBy } from './made-by.ts';
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
  const path = sheetPath(folder, 'reports/crew-card.html', out, io);
  const made = madeBy(io, tool);
  const text = await keptPaper(folder, ['card', made], async (files) => {
    const [{ cardPaper }, { atHand }] = await Promise.all([
      import('../papers/papers.ts'),
      import('./at-hand.ts'),
    ]);
    return cardPaper(await atHand(folder, files), made).text;
  });
  await writeSheet(folder, path, text);
  return path;
}

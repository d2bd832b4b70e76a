import type { Job } from '../../job/job.ts';
import { type PreviewFacts, renderScanPreview } from '../../report/scan-preview.ts';
import type { PreviewFlange } from '../../report/scan-view.ts';
import type { WebView } from '../../report/web-view.ts';
import type { Io } from '../io.ts';
import { writeSheet } from '../write-sheet.ts';

/** Writes the preview of a scan, whole or not at all. */
export async function writePreview(
  io: Io,
  request: { readonly job: string; readonly tool: string },
  path: string,
  shown: {
    readonly job: Job;
    readonly flanges: readonly PreviewFlange[];
    readonly webs: readonly WebView[];
    readonly facts: Omit<PreviewFacts, 'generated' | 'tool'>;
  },
): Promise<void> {
  const text = renderScanPreview(shown.job, shown.flanges, shown.webs, {
    ...shown.facts,
    generated: io.now().toISOString().slice(0, 10),
    tool: request.tool,
  });
  await writeSheet(request.job, path, text);
  io.err(`Preview: ${path}\n`);
}

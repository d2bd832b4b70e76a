import { Buffer } from 'buffer/index.js';
import { PHOTOS_FOLDER } from '../../folder/names.ts';
import type { OpenedFiles } from '../../folder/open-files.ts';
import { InputError } from '../../input-error.ts';
import { photosOf } from '../../ledger/contents.ts';
import type { ReportSection } from '../../report/context.ts';
import { cameraWords, photosSection, type ShownPhoto } from '../../report/photos-section.ts';
import { evenly } from '../../report/picks.ts';
import { smallPicture } from './small-picture.ts';

/** Photographs a report shows when it is not asked for all: about one printed page. */
const MOST_PHOTOS = 12;
/** Longer side in the report, pixels: 2 1/4 in at 240 dots an inch. */
const LONGEST = 540;

/**
 * The photographs of a job made small for its final report: all of them, or a choice that shows first and last, and
 * the cycles between evenly.
 *
 * @param camera whether the camera's time and place go under each
 */
export function photosOfJob(
  opened: Pick<OpenedFiles, 'job' | 'ledger' | 'source'>,
  { all, camera }: { readonly all: boolean; readonly camera: boolean },
): ReportSection | null {
  const photos = photosOf(opened.ledger);
  const away = opened.source.notHere.includes(PHOTOS_FOLDER);
  const chosen = all ? photos : evenly(photos, MOST_PHOTOS);
  const shown = chosen.map(({ file, cycle, caption }): ShownPhoto => {
    const unseen = (why: string): ShownPhoto => ({ file, cycle, caption, picture: why, camera: null });
    try {
      const bytes = opened.source.bytes(file, 'photo');
      if (bytes === null)
        return unseen(`${file} is ${away ? 'in the job folder, which is not here' : 'gone'}`);
      const small = smallPicture(bytes, file, LONGEST);
      const uri = `data:image/jpeg;base64,${Buffer.from(small.jpeg).toString('base64')}`;
      const { width, height, taken } = small;
      const noted = !camera
        ? null
        : taken === null
          ? 'No time or place noted.'
          : cameraWords(taken, opened.job.locale);
      return { file, cycle, caption, picture: { uri, width, height }, camera: noted };
    } catch (error) {
      // One picture that is gone or spoilt does not keep the report from being written; verify and the findings name it.
      if (!(error instanceof InputError)) throw error;
      return unseen(error.message);
    }
  });
  return photosSection(shown, photos.length - chosen.length);
}

import { PHOTOS_FOLDER } from '../../folder/names.ts';
import { photoName, pictureEnding } from '../../folder/photo-files.ts';
import { InputError } from '../../input-error.ts';
import { type Photo, photosOf } from '../../ledger/contents.ts';
import { readCycle } from '../../read/cells.ts';
import { type Html, html } from '../../report/html.ts';
import { sha256Hex } from '../../sha256.ts';
import type { JobBundle } from '../job-bundle.ts';
import { ledgerOfJob, requireLedger, withRecord } from '../ledger/record.ts';
import { saidFields, saidOf } from '../ledger/said.ts';
import { type OpenPage, part } from '../room.ts';
import { type CarriedPhoto, carriedPhoto, MOST_PHOTO_BYTES, photosOfBoth, sizeOf } from './carried.ts';

interface Picked {
  readonly name: string;
  readonly bytes: Uint8Array<ArrayBuffer>;
}

interface Own {
  readonly picked: readonly Picked[];
  /** File of the photograph that is shown large; '': none. */
  readonly shown: string;
  /** Counts what was kept: a new form after each. */
  readonly kept: number;
}

/** Photographs kept with the job, on its record: the same as `sweepbook photo`. */
export const photosPart = part<Own>({
  id: 'photographs',
  begin: () => ({ picked: [], shown: '', kept: 0 }),
  of: (page, own) => [page.session.bundle, page.session.book.cycle, own],
  view: (page, own) => photosHtml(page, own),
  acts: {
    pick: async ({ own, put, control }) => {
      const picked: Picked[] = [];
      for (const file of (control as HTMLInputElement).files ?? [])
        picked.push({ name: file.name, bytes: new Uint8Array(await file.arrayBuffer()) });
      put({ ...own, picked });
    },
    keep: async ({ desk, own, put, fields }) => {
      const before = desk.page().session.bundle;
      requireLedger(before);
      if (own.picked.length === 0) throw new InputError('No picture is chosen yet.');
      let bundle = before;
      for (const picture of own.picked)
        bundle = withPhoto(bundle, picture, photoSaid(fields), desk.now(), desk.freshId());
      await desk.change(bundle);
      put({ ...own, picked: [], kept: own.kept + 1 });
      const count = own.picked.length;
      desk.say('note', `${count} photograph${count === 1 ? ' is' : 's are'} kept, on the record.`, 'error');
    },
    show: ({ own, put, control }) => {
      const file = control.dataset.file ?? '';
      put({ ...own, shown: own.shown === file ? '' : file });
    },
    withdraw: async ({ desk, own, put, fields }) => {
      const { bundle } = desk.page().session;
      requireLedger(bundle);
      const photo = photosOf(ledgerOfJob(bundle)).find(({ file }) => file === fields.photo);
      if (photo === undefined) throw new InputError('Choose the photograph.');
      const withdrawn = saidOf(fields, 'photo');
      const { file, sha256, bytes, original, cycle, caption } = photo;
      const entry = { kind: 'photo', file, sha256, bytes, original, cycle, caption, withdrawn } as const;
      await desk.change(withRecord(bundle, entry, desk.now(), desk.freshId()));
      put({ ...own, shown: '' });
      desk.say('note', `Withdrawn: ${file}. The file stays where it is.`, 'error');
    },
  },
});

function photoSaid(fields: Readonly<Record<string, string>>): {
  readonly cycle: number | null;
  readonly caption: string;
} {
  const caption = (fields.caption ?? '').trim();
  if (caption === '') throw new InputError('Say what the picture shows, such as “station 31 ft, as found”.');
  const text = (fields.cycle ?? '').trim();
  if (text === '') return { cycle: null, caption };
  const cycle = readCycle(text);
  if ('value' in cycle) return { cycle: cycle.value, caption };
  throw new InputError('The photograph was not kept.', [
    { file: 'the form', column: 'cycle', found: text, expected: cycle.expected },
  ]);
}

/**
 * The job with a photograph byte for byte and its record, as the command line keeps it; of one kept before only the
 * caption is said anew.
 *
 * @throws InputError where it is no JPEG or PNG, or the page would carry too much
 */
export function withPhoto(
  bundle: JobBundle,
  { name, bytes }: { readonly name: string; readonly bytes: Uint8Array },
  said: { readonly cycle: number | null; readonly caption: string },
  when: string,
  fresh: string,
): JobBundle {
  const ending = pictureEnding(bytes);
  if (ending === null) {
    throw new InputError(`${name} is neither a JPEG nor a PNG picture; export it as one of these.`);
  }
  const carried = sizeOf(bundle.photos ?? []);
  const sha256 = sha256Hex(bytes);
  const photos = photosOf(ledgerOfJob(bundle));
  const known = photos.find((photo) => photo.sha256 === sha256);
  const here = bundle.photos?.some(({ file }) => file === known?.file) === true;
  if (!here && carried + bytes.length > MOST_PHOTO_BYTES) {
    const mb = (size: number) => `${(size / 1024 / 1024).toFixed(1)} MB`;
    throw new InputError(
      `${name} is ${mb(bytes.length)}, and the page carries ${mb(carried)} of pictures already: ${mb(MOST_PHOTO_BYTES)} is the most it can. Keep it in the job folder with \`sweepbook photo\`, or make it smaller first.`,
    );
  }
  // Names of pictures that stay in the folder are taken too, whatever the page carries.
  const taken = new Set(
    [...photos, ...(bundle.photos ?? []), ...withdrawnOf(bundle)].map(({ file }) => file),
  );
  const file = known?.file ?? photoName(said.cycle, name, ending, (each) => !taken.has(each));
  const next = here
    ? bundle
    : { ...bundle, ...photosOfBoth(bundle, { ...bundle, photos: [carriedPhoto(file, bytes)] }) };
  return withRecord(
    next,
    { kind: 'photo', file, sha256, bytes: bytes.length, original: name, ...said },
    when,
    fresh,
  );
}

function withdrawnOf(bundle: JobBundle): readonly { readonly file: string }[] {
  return ledgerOfJob(bundle).records.flatMap((each) => (each.kind === 'photo' ? [each] : []));
}

function photosHtml({ session }: OpenPage, { picked, shown, kept }: Own): Html {
  const { bundle, book } = session;
  const photos = photosOf(ledgerOfJob(bundle));
  const carried = new Map((bundle.photos ?? []).map((photo) => [photo.file, photo]));
  return html`<h2>Photographs</h2>
<form data-act="keep" novalidate data-id="photo-${kept}"><p class="actions"><label class="file-button">${picked.length === 0 ? 'Choose JPEG or PNG pictures' : picked.map(({ name }) => name).join(', ')}<input id="photo-pick" type="file" accept="image/jpeg,image/png" multiple data-change="pick" data-own></label></p><div class="fields">
<p class="field"><label for="photo-cycle">Cycle (0 as found; blank: of none)</label><input id="photo-cycle" name="cycle" value="${book.cycle}" inputmode="numeric" data-own autocomplete="off"></p>
<p class="field"><label for="photo-caption">What it shows</label><input id="photo-caption" name="caption" placeholder="station 31 ft, crack check after heating" data-own autocomplete="off" maxlength="300"></p></div>
<p class="actions"><button class="main">Keep with the job</button></p></form>
${
  photos.length === 0
    ? html`<p>No photograph is kept yet.</p>`
    : html`<ul class="handouts">${photos.map((photo) => photoHtml(photo, carried.get(photo.file), shown))}</ul>
<details><summary>Withdraw one</summary><form data-act="withdraw" novalidate><p class="field"><label for="photo-which">Photograph</label><select id="photo-which" name="photo">${photos.map(({ file, caption }) => html`<option value="${file}">${caption} (${file})</option>`)}</select></p>${saidFields('photo')}<p class="actions"><button>Withdraw it, on the record</button></p></form></details>`
}`;
}

function photoHtml(photo: Photo, carried: CarriedPhoto | undefined, shown: string): Html {
  const { file, cycle, caption } = photo;
  const type = file.endsWith('.png') ? 'png' : 'jpeg';
  return html`<li data-id="${file}"><div><h3>${caption}</h3><p>${cycle === null ? '' : `Cycle ${cycle}. `}${file}${carried === undefined ? `; not on this device, it is in the ${PHOTOS_FOLDER} folder of the job` : ''}</p></div>${carried === undefined ? '' : html`<p class="actions"><button type="button" data-act="show" data-file="${file}">${shown === file ? 'Hide' : 'Show'}</button></p>`}${shown === file && carried !== undefined ? html`<div class="photo"><img alt="${caption}" src="data:image/${type};base64,${carried.base64}"></div>` : ''}</li>`;
}

import type { ReportSection } from './context.ts';
import { dateText } from './dates.ts';
import { html } from './html.ts';

/** A photograph as a report shows it. */
export interface ShownPhoto {
  /** Job-relative */
  readonly file: string;
  readonly cycle: number | null;
  readonly caption: string;
  /** The small picture as a data: URI, with its size in pixels; a text where it cannot be shown. */
  readonly picture: { readonly uri: string; readonly width: number; readonly height: number } | string;
  /** What the camera noted of time and place, in words; null unless it was asked for. */
  readonly camera: string | null;
}

/** Photographs in a grid with their captions; null where there are none. `left`: how many more the job holds. */
export function photosSection(photos: readonly ShownPhoto[], left: number): ReportSection | null {
  if (photos.length === 0) return null;
  return {
    id: 'photos',
    title: 'Photographs',
    in: 'final',
    body: html`<div class="photos">${photos.map(
      ({ file, cycle, caption, picture, camera }) =>
        html`<figure class="keep">${typeof picture === 'string' ? html`<p>Not shown: ${picture}</p>` : html`<img src="${picture.uri}" width="${picture.width}" height="${picture.height}" alt="${caption}">`}<figcaption><strong>${cycle === null ? 'No cycle' : cycle === 0 ? 'As found' : `Cycle ${cycle}`}.</strong> ${caption}${camera === null ? '' : html` <span class="muted">${camera}</span>`} <span class="muted small">${file}</span></figcaption></figure>`,
    )}</div>${left === 0 ? '' : html`<p>${left} more in the photos folder of the job; <code>sweepbook report --final --full</code> shows them all.</p>`}<p class="small">The pictures are made small for this page; the files as the camera wrote them are in the job folder, each with its SHA-256 in the ledger.</p>`,
  };
}

/** Time and place as the camera noted them. */
export function cameraWords(
  taken: {
    readonly when: string | null;
    readonly latitude: number;
    readonly longitude: number;
  },
  locale: string,
): string {
  const { when, latitude, longitude } = taken;
  const time = when === null ? [] : [`${dateText(when, locale)} ${when.slice(11, 16)} by the camera’s clock`];
  const place = Number.isFinite(latitude + longitude)
    ? [`${latitude.toFixed(5)}, ${longitude.toFixed(5)} (degrees north, east, by the camera)`]
    : [];
  return `${[...time, ...place].join('; ')}.`;
}

/** Names of the files of the installable form, beside each other in one folder of a web server. */
export const APP_PAGE = 'index.html';
export const APP_MANIFEST = 'manifest.webmanifest';
export const APP_SERVICE = 'service-worker.js';
const APP_ICON = 'icon.svg';

/** A girder seen from above, bent, with its string. */
const ICON = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 512 512"><rect width="512" height="512" fill="#16202a"/><path d="M64 176H448" stroke="#fdfcf8" stroke-width="10" stroke-dasharray="28 18"/><path d="M64 256H150C220 256 220 352 256 352S292 256 362 256H448" fill="none" stroke="#fdfcf8" stroke-width="44" stroke-linejoin="round"/></svg>\n`;

const MANIFEST = {
  name: 'Sweepbook readings',
  short_name: 'Sweepbook',
  description: 'Key in the day’s readings of a damaged girder and see the answer, offline.',
  start_url: './',
  scope: './',
  display: 'standalone',
  background_color: '#fdfcf8',
  theme_color: '#16202a',
  icons: [{ src: APP_ICON, sizes: 'any', type: 'image/svg+xml', purpose: 'any' }],
};

/**
 * The service worker: everything is kept when it is installed and served from there ever after, with or without a
 * network. A newer one takes its place at the next opening; a page that is open stays as it is.
 *
 * @param digest tells this build from every other
 */
function serviceText(digest: string): string {
  const kept = JSON.stringify(['./', APP_PAGE, APP_MANIFEST, APP_ICON]);
  return `"use strict";
const NAME = "sweepbook-${digest.slice(0, 16)}";
self.addEventListener("install", (event) => {
  const files = ${kept}.map((file) => new Request(file, { cache: "reload" }));
  event.waitUntil(caches.open(NAME).then((cache) => cache.addAll(files)).then(() => self.skipWaiting()));
});
self.addEventListener("activate", (event) => {
  const old = (name) => name.startsWith("sweepbook-") && name !== NAME;
  event.waitUntil(
    caches.keys().then((names) => Promise.all(names.filter(old).map((name) => caches.delete(name)))).then(() => self.clients.claim()),
  );
});
self.addEventListener("fetch", (event) => {
  if (event.request.method !== "GET") return;
  event.respondWith(caches.match(event.request, { ignoreSearch: true }).then((kept) => kept ?? fetch(event.request)));
});
`;
}

/**
 * Files of the installable form by name.
 *
 * @param page text of its page (`readingsPage`, installable)
 * @param digest of this build
 */
export function appFiles(page: string, digest: string): Readonly<Record<string, string>> {
  return {
    [APP_PAGE]: page,
    [APP_MANIFEST]: `${JSON.stringify(MANIFEST, null, 2)}\n`,
    [APP_SERVICE]: serviceText(digest),
    [APP_ICON]: ICON,
  };
}

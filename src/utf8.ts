export { utf8ToBytes as utf8Bytes } from '@noble/hashes/utils.js';

/** What Node and every browser bring along; the core compiles without the types of either. */
declare const TextDecoder: new (
  label: string,
  options: { readonly ignoreBOM: boolean },
) => { decode(bytes: Uint8Array): string };

/** Bytes as UTF-8 text, a byte order mark kept: the text is then the file. */
export function utf8Text(bytes: Uint8Array): string {
  return new TextDecoder('utf-8', { ignoreBOM: true }).decode(bytes);
}

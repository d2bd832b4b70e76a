import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';

/** SHA-256 of a text (as UTF-8) or of bytes, in lower-case hex: the same in Node and in a browser. */
export function sha256Hex(content: string | Uint8Array): string {
  return bytesToHex(digest(content));
}

/** The digest in base64, as a content security policy writes it. */
export function sha256Base64(text: string): string {
  const bytes = digest(text);
  let out = '';
  for (let i = 0; i < 30; i += 3) {
    const n = (bytes[i]! << 16) | (bytes[i + 1]! << 8) | bytes[i + 2]!;
    out += BASE64[n >> 18]! + BASE64[(n >> 12) & 63]! + BASE64[(n >> 6) & 63]! + BASE64[n & 63]!;
  }
  const last = (bytes[30]! << 16) | (bytes[31]! << 8);
  return `${out}${BASE64[last >> 18]}${BASE64[(last >> 12) & 63]}${BASE64[(last >> 6) & 63]}=`;
}

const BASE64 = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/';

function digest(content: string | Uint8Array): Uint8Array {
  return sha256(typeof content === 'string' ? utf8ToBytes(content) : content);
}

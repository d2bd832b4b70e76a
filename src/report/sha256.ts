/**
 * SHA-256 of a text (as UTF-8), for the content security policy of a page: FIPS 180-4, sections 4.1.2, 4.2.2, 5.1.1 and 6.2.
 * Written out because the page builders use no Node or browser built-in.
 */
export function sha256(text: string): Uint8Array {
  const { bytes, length } = paddedUtf8(text);
  const hash = new Int32Array(INITIAL);
  const w = new Int32Array(64);
  const blocks = new DataView(bytes.buffer);
  for (let start = 0; start < length; start += 64) {
    for (let t = 0; t < 16; t++) w[t] = blocks.getInt32(start + 4 * t);
    for (let t = 16; t < 64; t++) {
      const a = w[t - 15]!;
      const b = w[t - 2]!;
      const s0 = rotate(a, 7) ^ rotate(a, 18) ^ (a >>> 3);
      const s1 = rotate(b, 17) ^ rotate(b, 19) ^ (b >>> 10);
      w[t] = (w[t - 16]! + s0 + w[t - 7]! + s1) | 0;
    }
    compress(hash, w);
  }
  const out = new Uint8Array(32);
  const view = new DataView(out.buffer);
  hash.forEach((word, i) => {
    view.setInt32(4 * i, word);
  });
  return out;
}

/** The digest in base64, as a content security policy writes it. */
export function sha256Base64(text: string): string {
  const digest = sha256(text);
  let out = '';
  for (let i = 0; i < 30; i += 3) {
    const n = (digest[i]! << 16) | (digest[i + 1]! << 8) | digest[i + 2]!;
    out += BASE64[n >> 18]! + BASE64[(n >> 12) & 63]! + BASE64[(n >> 6) & 63]! + BASE64[n & 63]!;
  }
  const last = (digest[30]! << 16) | (digest[31]! << 8);
  return `${out}${BASE64[last >> 18]}${BASE64[(last >> 12) & 63]}${BASE64[(last >> 6) & 63]}=`;
}

const BASE64 = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/';

/** First 32 bits of the fractional parts of the cube roots (constants) and square roots (start) of the first primes. */
const PRIMES = firstPrimes(64);
const CONSTANTS = Int32Array.from(PRIMES, (p) => fractionBits(Math.cbrt(p)));
const INITIAL = Int32Array.from(PRIMES.slice(0, 8), (p) => fractionBits(Math.sqrt(p)));

function fractionBits(x: number): number {
  return Math.floor((x - Math.floor(x)) * 2 ** 32) | 0;
}

function firstPrimes(count: number): number[] {
  const primes: number[] = [];
  for (let n = 2; primes.length < count; n++) if (primes.every((p) => n % p !== 0)) primes.push(n);
  return primes;
}

function rotate(x: number, by: number): number {
  return (x >>> by) | (x << (32 - by));
}

function compress(hash: Int32Array, w: Int32Array): void {
  let [a, b, c, d, e, f, g, h] = hash as unknown as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  for (let t = 0; t < 64; t++) {
    const s1 = rotate(e, 6) ^ rotate(e, 11) ^ rotate(e, 25);
    const t1 = (h + s1 + ((e & f) ^ (~e & g)) + CONSTANTS[t]! + w[t]!) | 0;
    const s0 = rotate(a, 2) ^ rotate(a, 13) ^ rotate(a, 22);
    const t2 = (s0 + ((a & b) ^ (a & c) ^ (b & c))) | 0;
    h = g;
    g = f;
    f = e;
    e = (d + t1) | 0;
    d = c;
    c = b;
    b = a;
    a = (t1 + t2) | 0;
  }
  [a, b, c, d, e, f, g, h].forEach((x, i) => {
    hash[i] = (hash[i]! + x) | 0;
  });
}

/** UTF-8 bytes, then the bit 1, zeros, and the length in bits as a 64-bit number, filling whole 64-byte blocks. */
function paddedUtf8(text: string): { bytes: Uint8Array<ArrayBuffer>; length: number } {
  const bytes = new Uint8Array(text.length * 3 + 72);
  let n = 0;
  for (let i = 0; i < text.length; i++) {
    let code = text.charCodeAt(i);
    if (code < 0x80) {
      bytes[n++] = code;
      continue;
    }
    if (code >= 0xd800 && code <= 0xdfff) {
      code = text.codePointAt(i)!;
      if (code > 0xffff) i++;
      else code = 0xfffd;
    }
    if (code > 0xffff) bytes[n++] = 0xf0 | (code >> 18);
    if (code > 0xffff) bytes[n++] = 0x80 | ((code >> 12) & 63);
    else if (code > 0x7ff) bytes[n++] = 0xe0 | (code >> 12);
    if (code > 0x7ff) bytes[n++] = 0x80 | ((code >> 6) & 63);
    else bytes[n++] = 0xc0 | (code >> 6);
    bytes[n++] = 0x80 | (code & 63);
  }
  const bits = n * 8;
  bytes[n++] = 0x80;
  const length = Math.ceil((n + 8) / 64) * 64;
  const view = new DataView(bytes.buffer);
  view.setUint32(length - 8, Math.floor(bits / 2 ** 32));
  view.setUint32(length - 4, bits >>> 0);
  return { bytes, length };
}

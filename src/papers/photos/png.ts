import { Buffer } from 'buffer/index.js';
import { Inflate } from 'pako';
import bitmapper from 'pngjs/lib/bitmapper.js';
import filter from 'pngjs/lib/filter-parse-sync.js';
import normalise from 'pngjs/lib/format-normaliser.js';
import Parser, { type PngFacts } from 'pngjs/lib/parser.js';
import Reader from 'pngjs/lib/sync-reader.js';

/**
 * Reads a PNG picture in Node and in a browser alike: pngjs without its unpacker, which leans on Node's own.
 *
 * @returns RGBA, row by row, 8 bits each
 * @throws Error that says what is wrong with it
 */
export function readPng(content: Uint8Array): {
  readonly width: number;
  readonly height: number;
  readonly data: Uint8Array;
} {
  let facts: PngFacts | undefined;
  let fault: Error | undefined;
  const packed: Uint8Array[] = [];
  const reader = new Reader(Buffer.from(content));
  const parser = new Parser(
    {},
    {
      read: reader.read.bind(reader),
      error: (error) => {
        fault = error;
      },
      metadata: (given) => {
        facts = given;
      },
      gamma: () => undefined,
      palette: (palette) => {
        facts!.palette = palette;
      },
      transColor: (colour) => {
        facts!.transColor = colour;
      },
      simpleTransparency: () => {
        facts!.alpha = true;
      },
      inflateData: (bytes) => packed.push(bytes),
    },
  );
  parser.start();
  reader.process();
  if (fault !== undefined) throw fault;
  if (facts === undefined) throw new Error('it has no size');
  const { width, height, bpp, depth, interlace } = facts;
  // Each row starts with the name of its filter.
  const size = (((width * bpp * depth + 7) >> 3) + 1) * height;
  // Interlaced, its seven pictures begin and fill up rows of their own.
  const raw = inflated(packed, interlace ? size + 7 * 2 * (height + 8) : size);
  const data = normalise(bitmapper.dataToBitMap(filter.process(raw, facts), facts), facts, false);
  return { width, height, data };
}

const FULL = new Error('all that was wanted is unpacked');

/** What these bytes unpack to, `most` bytes of it: what a bomb holds beyond them is never unpacked. */
function inflated(packed: readonly Uint8Array[], most: number): Uint8Array {
  const out = Buffer.alloc(most);
  let length = 0;
  const inflate = new Inflate();
  inflate.onData = (chunk) => {
    const part = chunk.subarray(0, most - length);
    out.set(part, length);
    length += part.length;
    if (length === most) throw FULL;
  };
  try {
    for (const [i, bytes] of packed.entries()) inflate.push(bytes, i === packed.length - 1);
  } catch (error) {
    if (error !== FULL) throw error;
    return out;
  }
  if (inflate.err !== 0) throw new Error(`its pixels cannot be unpacked (${inflate.msg})`);
  return out.slice(0, length);
}

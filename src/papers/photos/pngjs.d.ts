// The parts of pngjs that read a picture without Node's streams and unpacker; its own types know only the whole.
declare module 'pngjs/lib/parser.js' {
  export interface PngFacts {
    readonly width: number;
    readonly height: number;
    /** Bits a channel */
    readonly depth: number;
    /** Channels a pixel */
    readonly bpp: number;
    readonly interlace: boolean;
    alpha: boolean;
    palette: unknown;
    transColor?: unknown;
  }
  export default class Parser {
    constructor(
      options: object,
      takes: {
        readonly read: (length: number, give: (bytes: Uint8Array) => void) => void;
        readonly error: (error: Error) => void;
        readonly metadata: (facts: PngFacts) => void;
        readonly gamma: (gamma: number) => void;
        readonly palette: (palette: unknown) => void;
        readonly transColor: (colour: unknown) => void;
        readonly simpleTransparency: () => void;
        readonly inflateData: (bytes: Uint8Array) => void;
      },
    );
    start(): void;
  }
}

declare module 'pngjs/lib/sync-reader.js' {
  export default class Reader {
    constructor(bytes: Uint8Array);
    read(length: number, give: (bytes: Uint8Array) => void): void;
    process(): void;
  }
}

declare module 'pngjs/lib/filter-parse-sync.js' {
  import type { PngFacts } from 'pngjs/lib/parser.js';

  const filter: { process(raw: Uint8Array, facts: PngFacts): Uint8Array };
  export default filter;
}

declare module 'pngjs/lib/bitmapper.js' {
  import type { PngFacts } from 'pngjs/lib/parser.js';

  const bitmapper: { dataToBitMap(rows: Uint8Array, facts: PngFacts): Uint8Array };
  export default bitmapper;
}

declare module 'pngjs/lib/format-normaliser.js' {
  import type { PngFacts } from 'pngjs/lib/parser.js';
  export default function normalise(pixels: Uint8Array, facts: PngFacts, skipRescale: boolean): Uint8Array;
}

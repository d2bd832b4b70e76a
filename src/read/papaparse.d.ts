/** The part of papaparse used here; `@types/papaparse` would bring Node's types into the core. */
declare module 'papaparse' {
  interface ParseError {
    readonly code: string;
    readonly row?: number;
  }
  interface ParseResult {
    readonly data: string[][];
    readonly errors: readonly ParseError[];
    readonly meta: { readonly cursor: number };
  }
  interface ParserConfig {
    readonly delimiter: string;
    readonly newline: string;
  }
  /** The tokenizer itself: stateless between calls apart from `cursor`; the last row can be left for the next chunk. */
  class Parser {
    constructor(config: ParserConfig);
    parse(input: string, baseIndex: number, ignoreLastRow: boolean): ParseResult;
  }
  const Papa: { readonly Parser: typeof Parser };
  export default Papa;
}

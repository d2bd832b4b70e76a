import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { pathToFileURL } from 'node:url';
import { setFlagsFromString } from 'node:v8';
import { Script } from 'node:vm';

/** The command line in one file, as the build makes it. */
export interface Program {
  readonly file: string;
  readonly script: Script;
}

/**
 * The engine's own form of a program, made by the build (`build-code.mjs`): with it nothing is parsed or compiled again,
 * which is most of what a short command costs. It is tied to the program by its name, which holds a digest, and to the
 * engine by this.
 */
export function codeFile(file: string): string {
  return `${file}.${process.version}-${process.arch}.code`;
}

/**
 * How much code runs before the engine compiles it for speed: three times and more of what it waits by itself. A line is
 * fitted in a second, and of the functions compiled so soon most had little left to do: a cold job of six lines took a tenth
 * longer. The code is tied to it as to the engine. Later engines, which compile in more steps, keep their own.
 */
export function waitToCompile(): void {
  if (process.versions.v8.startsWith('11.')) setFlagsFromString('--interrupt-budget=500000');
}

/** The program, from its code where that is there and the engine takes it, else from its text. */
export function compiled(file: string): Program {
  waitToCompile();
  // The build writes ASCII: one byte a character, which the engine can keep as it is.
  const text = `(function(require,module,exports,__url){${readFileSync(file, 'latin1')}\n})`;
  let cachedData: Buffer | undefined;
  try {
    cachedData = readFileSync(codeFile(file));
  } catch {
    // Built for another engine, or without: compiled as any script is.
  }
  return { file, script: new Script(text, { filename: file, ...(cachedData && { cachedData }) }) };
}

/** Runs it on the process's arguments. @returns when it is done */
export async function runProgram({ file, script }: Program): Promise<void> {
  const module: { exports: { done?: Promise<void> } } = { exports: {} };
  const url = pathToFileURL(file).href;
  script.runInThisContext()(createRequire(url), module, module.exports, url);
  await module.exports.done;
}

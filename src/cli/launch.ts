import { fileURLToPath } from 'node:url';
import { compiled, runProgram } from './compiled.ts';

/** Name of the program beside this file. */
declare const SWEEPBOOK_PROGRAM: string;

void runProgram(compiled(fileURLToPath(new URL(SWEEPBOOK_PROGRAM, import.meta.url))));

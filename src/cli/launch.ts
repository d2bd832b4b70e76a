import { fileURLToPath } from 'node:url';
import { compiled, runProgram } from './compiled.ts';
import { keepYoungSmall } from './scan/young-memory.ts';

/** Name of the program beside this file. */
declare const SWEEPBOOK_PROGRAM: string;

/** Commands that read clouds. */
const OF_CLOUDS = ['scan', 'bulge'];

// The engine takes compiled code only with the flags it was made under: others come after it.
const program = compiled(fileURLToPath(new URL(SWEEPBOOK_PROGRAM, import.meta.url)));
if (OF_CLOUDS.includes(process.argv[2] ?? '')) keepYoungSmall();
void runProgram(program);

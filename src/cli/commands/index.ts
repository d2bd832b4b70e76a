import type { AddCommand } from '../program.ts';

/** Every command of the program, in the order of the help. */
export const COMMANDS: readonly AddCommand[] = [];

// Run by the build in a process of its own: puts a program through its commands on a sample, so that the engine has
// compiled what they need, and keeps that beside the program. Arguments: program, a copy of a sample.
import { writeFileSync } from 'node:fs';
import { setFlagsFromString } from 'node:v8';
import { codeFile, compiled, runProgram } from './src/cli/compiled.ts';

const [file, job] = process.argv.slice(2);
const COMMANDS = [
  ['status', job],
  ['status', job],
  ['status', job, '--json'],
  ['heats', job],
  ['card', job],
  ['plates', job],
  ['report', job, '--plain'],
  ['report', job, '--final', '--plain'],
  ['verify', job],
];

// Code not run for a while would be thrown away before it is kept. The code names the flags it was made under.
setFlagsFromString('--no-flush-bytecode');
const program = compiled(file);
for (const command of COMMANDS) {
  process.argv = [process.argv[0], file, ...command];
  await runProgram(program);
  if (process.exitCode) throw new Error(`${command.join(' ')} left with ${process.exitCode}`);
}
setFlagsFromString('--flush-bytecode');
writeFileSync(codeFile(file), program.script.createCachedData());

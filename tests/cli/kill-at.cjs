// Preloaded into a real process (`node --require`): counts its changes to the file system and kills it with SIGKILL
// at the one numbered SWEEPBOOK_KILL_AT, before it happens or (writes) halfway through. 0: only counts.
const fs = require('node:fs');
const { syncBuiltinESMExports } = require('node:module');

const at = Number(process.env.SWEEPBOOK_KILL_AT);
const half = process.env.SWEEPBOOK_KILL_HOW === 'half';
let count = 0;

function die() {
  process.kill(process.pid, 'SIGKILL');
  // The signal may take a moment; nothing more may happen meanwhile.
  Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0);
}

function changes(name, args) {
  if (name === 'open' || name === 'openSync') return typeof args[1] === 'string' && !/^r$/.test(args[1]);
  return true;
}

for (const name of [
  'open',
  'openSync',
  'write',
  'writeSync',
  'fsyncSync',
  'close',
  'closeSync',
  'renameSync',
  'rmSync',
  'mkdirSync',
]) {
  const real = fs[name];
  fs[name] = (...args) => {
    // Standard output is no part of the store.
    const isStream = typeof args[0] === 'number' && args[0] <= 2;
    if (!isStream && changes(name, args) && ++count === at) {
      if (half && (name === 'write' || name === 'writeSync')) {
        const bytes = Buffer.from(args[1]);
        real === fs.write ? die() : fs.writevSync(args[0], [bytes.subarray(0, Math.floor(bytes.length / 2))]);
      } else if (half) {
        if (name.endsWith('Sync')) real.apply(fs, args);
      }
      die();
    }
    return real.apply(fs, args);
  };
}
syncBuiltinESMExports();

if (at === 0) {
  process.on('exit', () => fs.writeFileSync(process.env.SWEEPBOOK_KILL_COUNT, String(count)));
}

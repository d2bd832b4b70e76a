import { existsSync } from 'node:fs';
import { basename } from 'node:path';
import { InputError } from '../../input-error.ts';
import type { Job } from '../../job/job.ts';
import { cloudFormat } from '../../scan/cloud.ts';
import { parseScanSetUp, type ScanSetUp, scanSetUp } from '../../scan/set-up.ts';
import type { Io } from '../io.ts';
import { inJob } from '../store/layout.ts';
import { readInputText } from '../store/open-input.ts';
import type { CloudRequest } from './cloud-request.ts';

const OPTIONS = {
  lines: '--units, --line, --from, --to and --direction',
  panels: '--units, --panel, --corners and --positive',
};

/** The set-up in force: options, the named file, or scan.json of the job; the unit given twice must agree. */
export function findSetUp(
  io: Io,
  job: Job,
  what: 'lines' | 'panels',
  request: Pick<CloudRequest, 'given' | 'setUp' | 'units' | 'job' | 'cloud'>,
): ScanSetUp {
  if (request.given !== null) return scanSetUp(request.given, 'options', job);
  const own = inJob(request.job, 'scan.json');
  const path = request.setUp ?? own;
  if (!existsSync(path)) {
    throw new InputError(`where the ${what} lie in the cloud is not said`, [
      {
        file: basename(path),
        found: 'no such file',
        expected: `a scan set-up (--set-up, or scan.json in the job folder), or ${OPTIONS[what]}`,
      },
    ]);
  }
  if (request.setUp === null) io.err('Using scan.json of the job.\n');
  const setUp = parseScanSetUp(readInputText(path, 'job'), basename(path), job);
  // The standard of E57 leaves no choice, so another unit is a mistake, whoever made it.
  if (setUp.units !== 'm' && cloudFormat(request.cloud) === 'e57') {
    throw new InputError('the unit of the set-up is not that of the cloud', [
      {
        file: basename(path),
        column: 'units',
        found: `"${setUp.units}"`,
        expected: '"m": E57 is in metres by its standard',
      },
    ]);
  }
  if (request.units !== null && request.units !== setUp.units) {
    throw new InputError('the unit of the cloud is given twice, differently', [
      {
        file: basename(path),
        column: 'units',
        found: `"${setUp.units}"`,
        expected: `"${request.units}", as --units says`,
      },
    ]);
  }
  return setUp;
}

import { InputError, type Problem } from '../input-error.ts';
import { jsonProblems } from './json-fault.ts';

/**
 * A file of JSON written by hand, as a value.
 *
 * @param what it should be, such as "a job"
 * @throws InputError where it is empty, no JSON, has a key twice, or is not UTF-8
 */
export function parseJsonText(text: string, file: string, what: string): unknown {
  const body = text.startsWith('\ufeff') ? text.slice(1) : text;
  if (body.trim() === '') {
    throw new InputError(`${file} is empty.`, [
      { file, found: 'an empty file', expected: `${what} as JSON` },
    ]);
  }
  const problems = jsonProblems(body, file);
  if (problems.length > 0) throw new InputError(`${file} could not be used.`, problems);
  if (body.includes('\ufffd')) {
    throw new InputError(`${file} could not be used.`, [
      {
        file,
        found: 'characters that are not UTF-8 text (saved as Latin-1 or Windows-1252?)',
        expected: 'a file saved as UTF-8',
      },
    ]);
  }
  const reserved: Problem[] = [];
  const parsed: unknown = JSON.parse(body, (key, value: unknown) => {
    if (key === '__proto__') {
      reserved.push({ file, column: key, found: `the name "${key}"`, expected: 'another name' });
    }
    return value;
  });
  if (reserved.length > 0) throw new InputError(`${file} could not be used.`, reserved);
  return parsed;
}

import { GROWING_FILES } from '../../ledger/inputs.ts';
import type { JobBundle } from '../job-bundle.ts';

/** Logs of both sides: where one goes on where the other ends, the longer; else the first side's, the other's apart. */
export function logsOfBoth(
  first: JobBundle,
  second: JobBundle,
): { readonly others: JobBundle['others']; readonly apart: readonly { file: string; text: string }[] } {
  const apart: { file: string; text: string }[] = [];
  const logs = GROWING_FILES.flatMap((file) => {
    const [a, b] = [textIn(first, file), textIn(second, file)];
    if (b === '' || a.startsWith(b)) return [];
    if (b.startsWith(a)) return [{ file, text: b }];
    apart.push({ file, text: b });
    return [];
  });
  const longer = (file: string) => logs.find((each) => each.file === file);
  const added = logs.filter(({ file }) => !first.others.some((each) => each.file === file));
  return { others: [...first.others.map((each) => longer(each.file) ?? each), ...added], apart };
}

/** Text of a log of a job; empty where there is none. */
export function textIn({ others }: JobBundle, file: string): string {
  return others.find((each) => each.file === file)?.text ?? '';
}

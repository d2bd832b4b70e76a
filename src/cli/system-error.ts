import { inertText } from '../inert-text.ts';

/** What the operating system refused, in words a crew can act on. */
const REASONS: Record<string, string> = {
  EACCES: 'permission denied',
  EPERM: 'the system does not permit it',
  EROFS: 'the disk or folder is read-only',
  ENOSPC: 'no space is left on the disk',
  EDQUOT: 'the disk quota is used up',
  EFBIG: 'the file would be too large for this disk',
  ENOENT: 'there is no such file or folder',
  ENOTDIR: 'a part of the path is not a folder',
  EISDIR: 'it is a folder, not a file',
  EEXIST: 'it exists already',
  EMFILE: 'too many files are open',
  ENFILE: 'too many files are open',
  EIO: 'the disk reports a fault',
  ENAMETOOLONG: 'the name is too long',
  ELOOP: 'the links go round in a circle',
  EBUSY: 'another program holds it',
};

/** What a whole write puts before the name of its target while it is not done: nobody asked for a file of that name. */
const OWN_TEMPORARY = /\.writing-\d+-(?=[^/\\]*$)/;

/** One line about a refused file operation; null for any other error. */
export function describeSystemError(error: unknown): string | null {
  if (!(error instanceof Error)) return null;
  const { code, path, syscall } = error as NodeJS.ErrnoException;
  if (typeof code !== 'string' || typeof syscall !== 'string') return null;
  const where = path === undefined ? '' : ` ${inertText(path.replace(OWN_TEMPORARY, ''))}`;
  return `cannot ${VERBS[syscall] ?? 'use'}${where}: ${REASONS[code] ?? 'the system refused'} (${code})`;
}

const VERBS: Record<string, string> = {
  open: 'open',
  read: 'read',
  scandir: 'list',
  stat: 'look at',
  write: 'write',
  fsync: 'write',
  rename: 'put in place',
  mkdir: 'make the folder',
  unlink: 'remove',
  rm: 'remove',
};

import {
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { basename, join } from 'node:path';

/**
 * A directory handle as a browser gives one, over a folder on disk: the parts of the File System Access API that the
 * page uses. A writable writes to a swap file and puts it in place at `close`, as the standard asks.
 */
export function folderHandle(path: string, onWrite: () => void = () => {}): FileSystemDirectoryHandle {
  const missing = (name: string) => new DOMException(`${name} is not there`, 'NotFoundError');
  const fileHandle = (file: string) => ({
    kind: 'file' as const,
    name: basename(file),
    getFile: async () => ({
      lastModified: statSync(file).mtimeMs,
      arrayBuffer: async () => new Uint8Array(readFileSync(file)).buffer,
    }),
    createWritable: async () => {
      const parts: Uint8Array[] = [];
      return {
        write: async (bytes: Uint8Array) => {
          parts.push(bytes);
        },
        abort: async () => {},
        close: async () => {
          onWrite();
          writeFileSync(`${file}.crswap`, Buffer.concat(parts));
          renameSync(`${file}.crswap`, file);
        },
      };
    },
  });
  const handle = {
    kind: 'directory' as const,
    name: basename(path),
    async *values() {
      for (const name of readdirSync(path)) {
        const inside = join(path, name);
        yield statSync(inside).isDirectory() ? folderHandle(inside, onWrite) : fileHandle(inside);
      }
    },
    getFileHandle: async (name: string, { create = false } = {}) => {
      const file = join(path, name);
      if (!existsSync(file)) {
        if (!create) throw missing(name);
        writeFileSync(file, '');
      }
      return fileHandle(file);
    },
    getDirectoryHandle: async (name: string, { create = false } = {}) => {
      const inside = join(path, name);
      if (!existsSync(inside)) {
        if (!create) throw missing(name);
        mkdirSync(inside);
      }
      return folderHandle(inside, onWrite);
    },
    removeEntry: async (name: string) => {
      onWrite();
      if (!existsSync(join(path, name))) throw missing(name);
      rmSync(join(path, name));
    },
  };
  return handle as unknown as FileSystemDirectoryHandle;
}

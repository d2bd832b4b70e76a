/** A folder of the device that a person let the page into. Names are relative to it, with `/`. */
export interface FolderDoor {
  /** Name of the folder itself. */
  readonly name: string;
  /** Every file in it and below, but for folders that `skip` names. */
  readonly files: (skip: (folder: string) => boolean) => Promise<readonly string[]>;
  /** Null where there is no such file. */
  readonly read: (file: string) => Promise<Uint8Array<ArrayBuffer> | null>;
  /** When a file was last written, ms; null where there is no such file. */
  readonly changed: (file: string) => Promise<number | null>;
  /** Writes a file whole: the browser writes beside it and puts it in place when all is there. */
  readonly write: (file: string, bytes: Uint8Array<ArrayBuffer>) => Promise<void>;
  /** Takes a file away; nothing where there is none. */
  readonly remove: (file: string) => Promise<void>;
}

/** What the types of this TypeScript do not say of a directory handle yet. */
type Listed = FileSystemDirectoryHandle & { readonly values: () => AsyncIterable<FileSystemHandle> };

/** More than this below a folder, and it is no job folder. */
const MOST_FILES = 5000;

export function doorOf(root: FileSystemDirectoryHandle): FolderDoor {
  async function placeOf(file: string, create: boolean) {
    const parts = file.split('/');
    const name = parts.pop()!;
    let folder = root;
    for (const part of parts) folder = await folder.getDirectoryHandle(part, { create });
    return { folder, name };
  }
  const fileOf = (file: string): Promise<File | null> =>
    whereThere(async () => {
      const { folder, name } = await placeOf(file, false);
      return (await folder.getFileHandle(name)).getFile();
    });
  return {
    name: root.name,
    files: async (skip) => {
      const found: string[] = [];
      const walk = async (folder: FileSystemDirectoryHandle, path: string): Promise<void> => {
        for await (const each of (folder as Listed).values()) {
          const name = path + each.name;
          if (found.length > MOST_FILES)
            throw new Error(`${root.name} holds too many files for a job folder.`);
          if (each.kind === 'file') found.push(name);
          else if (!skip(name)) await walk(each as FileSystemDirectoryHandle, `${name}/`);
        }
      };
      await walk(root, '');
      return found.sort();
    },
    read: async (file) => {
      const there = await fileOf(file);
      return there === null ? null : new Uint8Array(await there.arrayBuffer());
    },
    changed: async (file) => (await fileOf(file))?.lastModified ?? null,
    write: async (file, bytes) => {
      const { folder, name } = await placeOf(file, true);
      const stream = await (await folder.getFileHandle(name, { create: true })).createWritable();
      try {
        await stream.write(bytes);
      } catch (error) {
        await stream.abort().catch(() => undefined);
        throw error;
      }
      await stream.close();
    },
    remove: async (file) => {
      await whereThere(async () => {
        const { folder, name } = await placeOf(file, false);
        await folder.removeEntry(name);
        return true;
      });
    },
  };
}

async function whereThere<T>(work: () => Promise<T>): Promise<T | null> {
  try {
    return await work();
  } catch (error) {
    if (error instanceof DOMException && error.name === 'NotFoundError') return null;
    throw error;
  }
}

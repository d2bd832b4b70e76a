import { HEAD_FILE } from '../../ledger/chain.ts';
import type { GivenFile } from '../folder-files.ts';
import { MOST_PHOTO_BYTES } from '../photos/carried.ts';

const MOST_BYTES = 40 * 1024 * 1024;

/** Texts of the files a person picked; what cannot be part of a job is left out. */
export async function textsOf(files: Iterable<File>): Promise<GivenFile[]> {
  const given: GivenFile[] = [];
  let bytes = 0;
  for (const file of files) {
    const path = file.webkitRelativePath || pathOf(file);
    if (/\.(jpg|png)$/.test(file.name)) {
      // More than a page carries stays in the folder, and is told as that.
      if (file.size > MOST_PHOTO_BYTES) continue;
      given.push({ path, text: '', bytes: new Uint8Array(await file.arrayBuffer()) });
      continue;
    }
    if (!/\.(json|csv|jsonl|txt|tsv)$/i.test(file.name) && file.name !== HEAD_FILE) continue;
    bytes += file.size;
    if (bytes > MOST_BYTES) throw new Error('These files are larger than 40 MB together; that is not a job.');
    given.push({ path, text: await textOf(file) });
  }
  return given;
}

/** What the File System Access API adds to a dropped item; Chromium only. */
interface WithHandle {
  readonly getAsFileSystemHandle?: () => Promise<FileSystemHandle | null>;
}

/**
 * Files of a drop, folders walked. A page opened from disk may walk a folder by its handle only: Chromium refuses it the
 * older entries ("EncodingError"), which serve in browsers without handles.
 */
export async function droppedFiles(transfer: DataTransfer): Promise<GivenFile[]> {
  // All asked for at once: the items are gone after the first wait.
  const items = [...transfer.items].flatMap((item) =>
    item.kind !== 'file'
      ? []
      : [
          {
            file: item.getAsFile(),
            entry: item.webkitGetAsEntry?.() ?? null,
            handle: (item as WithHandle).getAsFileSystemHandle?.().catch(() => null) ?? null,
          },
        ],
  );
  const files: File[] = [];
  for (const { file, entry, handle } of items) {
    if (entry?.isDirectory !== true) {
      if (file !== null) files.push(file);
      continue;
    }
    const folder = await handle;
    if (isFolder(folder)) await walkHandle(folder, folder.name, files);
    else {
      await walkEntry(entry, files).catch(() => {
        throw new Error(
          `This browser does not let a page on disk read the dropped folder ${entry.name}. Use "Choose a folder", or drop its files.`,
        );
      });
    }
  }
  return textsOf(files);
}

const MOST_FILES = 5000;
const paths = new WeakMap<File, string>();

function pathOf(file: File): string {
  return paths.get(file) ?? file.name;
}

function isFolder(handle: FileSystemHandle | null): handle is FileSystemDirectoryHandle {
  return handle?.kind === 'directory';
}

async function walkHandle(folder: FileSystemDirectoryHandle, path: string, into: File[]): Promise<void> {
  const inside = folder as FileSystemDirectoryHandle & { values: () => AsyncIterable<FileSystemHandle> };
  for await (const each of inside.values()) {
    if (into.length > MOST_FILES) return;
    if (isFolder(each)) await walkHandle(each, `${path}/${each.name}`, into);
    else {
      const file = await (each as FileSystemFileHandle).getFile();
      paths.set(file, `${path}/${each.name}`);
      into.push(file);
    }
  }
}

async function walkEntry(entry: FileSystemEntry, into: File[]): Promise<void> {
  if (into.length > MOST_FILES) return;
  if (entry.isFile) {
    const file = await new Promise<File>((resolve, reject) => {
      (entry as FileSystemFileEntry).file(resolve, reject);
    });
    paths.set(file, entry.fullPath.replace(/^\//, ''));
    into.push(file);
    return;
  }
  const reader = (entry as FileSystemDirectoryEntry).createReader();
  for (;;) {
    const batch = await new Promise<FileSystemEntry[]>((resolve, reject) => {
      reader.readEntries(resolve, reject);
    });
    if (batch.length === 0) return;
    for (const each of batch) await walkEntry(each, into);
  }
}

/** The bytes as UTF-8 with its byte order mark kept, so that the text is the file. */
async function textOf(file: File): Promise<string> {
  return new TextDecoder('utf-8', { ignoreBOM: true }).decode(await file.arrayBuffer());
}

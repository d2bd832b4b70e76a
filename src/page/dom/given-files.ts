import type { GivenFile } from '../folder-files.ts';

const MOST_BYTES = 40 * 1024 * 1024;

/** Texts of the files a person picked; what cannot be part of a job is left out. */
export async function textsOf(files: Iterable<File>): Promise<GivenFile[]> {
  const given: GivenFile[] = [];
  let bytes = 0;
  for (const file of files) {
    if (!/\.(json|csv|jsonl|txt|tsv)$/i.test(file.name)) continue;
    bytes += file.size;
    if (bytes > MOST_BYTES) throw new Error('These files are larger than 40 MB together; that is not a job.');
    given.push({ path: file.webkitRelativePath || pathOf(file), text: await textOf(file) });
  }
  return given;
}

/** Files of a drop, folders walked. */
export async function droppedFiles(transfer: DataTransfer): Promise<GivenFile[]> {
  const entries = [...transfer.items].map((item) => item.webkitGetAsEntry?.() ?? null);
  if (entries.every((entry) => entry === null)) return textsOf(transfer.files);
  const files: File[] = [];
  for (const entry of entries) if (entry !== null) await walk(entry, files);
  return textsOf(files);
}

const paths = new WeakMap<File, string>();

function pathOf(file: File): string {
  return paths.get(file) ?? file.name;
}

async function walk(entry: FileSystemEntry, into: File[]): Promise<void> {
  if (into.length > 5000) return;
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
    for (const each of batch) await walk(each, into);
  }
}

/** The bytes as UTF-8 with its byte order mark kept, so that the text is the file. */
async function textOf(file: File): Promise<string> {
  return new TextDecoder('utf-8', { ignoreBOM: true }).decode(await file.arrayBuffer());
}

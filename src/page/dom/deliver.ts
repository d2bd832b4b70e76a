/** Hands a text or bytes to the device as a file; nothing goes over a network. */
export function download(name: string, content: string | Uint8Array<ArrayBuffer>, type: string): void {
  const url = URL.createObjectURL(new Blob([content], { type }));
  const link = document.createElement('a');
  link.href = url;
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

/** True where the device can pass a file on (to mail, chat, a drive). */
export function canShare(name: string, type: string): boolean {
  try {
    return (
      typeof navigator.canShare === 'function' &&
      navigator.canShare({ files: [new File([''], name, { type })] })
    );
  } catch {
    return false;
  }
}

/** Passes a file on by the device's own share sheet; `cancelled` where the person thought better of it. */
export async function share(
  name: string,
  text: string,
  type: string,
): Promise<'shared' | 'cancelled' | 'refused'> {
  try {
    await navigator.share({ files: [new File([text], name, { type })], title: name });
    return 'shared';
  } catch (error) {
    return error instanceof DOMException && error.name === 'AbortError' ? 'cancelled' : 'refused';
  }
}

const two = (n: number): string => String(n).padStart(2, '0');

/** The date on the wall where the page is used, ISO. */
export function today(): string {
  const now = new Date();
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

/** The time of day on the wall, hh:mm. */
export function timeNow(): string {
  const now = new Date();
  return `${two(now.getHours())}:${two(now.getMinutes())}`;
}

export function randomId(): string {
  return [...crypto.getRandomValues(new Uint8Array(16))]
    .map((byte) => byte.toString(16).padStart(2, '0'))
    .join('');
}

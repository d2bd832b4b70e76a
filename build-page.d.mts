/** Writes the readings page without a job to `file`. Gives the length of its text and the digest of the core's script in it. */
export function buildPage(
  file: string,
  app?: string,
): Promise<{ readonly length: number; readonly core: string }>;
/** Lighter doors to the same packages, for every bundle. */
export const alias: Readonly<Record<string, string>>;

/** Writes the readings page without a job to `file`; the length of its text. */
export function buildPage(file: string): Promise<number>;

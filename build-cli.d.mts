/** Builds the command line into `outdir`, to be run by the file `name` there. */
export function buildCli(outdir: string, name: string, core: string): Promise<void>;
/** Builds the thread that unpacks LAZ chunks into `outdir`. @returns the name of its file */
export function buildLazWorker(outdir: string): Promise<string>;

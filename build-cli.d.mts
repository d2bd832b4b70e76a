/** Builds the command line into `outdir`, to be run by the file `name` there. */
export function buildCli(outdir: string, name: string, core: string): Promise<void>;

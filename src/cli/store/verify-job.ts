import { type Verification, verifyFiles } from '../../folder/verify-files.ts';
import { filesOfFolder } from './files-of-folder.ts';

/** Hashes every file of a job folder again and follows its ledger's chain (`verifyFiles`). */
export function verifyJob(folder: string, seal: string | null): Promise<Verification> {
  return verifyFiles(filesOfFolder(folder), seal);
}

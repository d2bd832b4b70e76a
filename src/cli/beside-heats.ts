import type { Analysis } from '../analysis.ts';
import { type BesideHeats, besideHeats } from '../heats/beside-heats.ts';
import { InputError } from '../input-error.ts';
import { heatLogOf } from './store/heats-of-folder.ts';
import { HEAT_LOG_FILE } from './store/layout.ts';

/** An analysis beside the heat log of its folder. */
export function besideHeatsOf(folder: string, analysis: Analysis): BesideHeats {
  try {
    return besideHeats(analysis, heatLogOf(folder, analysis.job).log);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return besideHeats(analysis, null, { message: error.message, file: HEAT_LOG_FILE });
  }
}

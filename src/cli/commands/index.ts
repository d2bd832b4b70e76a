import type { AddCommand } from '../program.ts';
import { addAdd } from './add.ts';
import { addBulge } from './bulge.ts';
import { addCard } from './card.ts';
import { addCheck } from './check.ts';
import { addDemo } from './demo.ts';
import { addExport } from './export.ts';
import { addHeats } from './heats.ts';
import { addMark } from './mark.ts';
import { addNew } from './new.ts';
import { addPage } from './page.ts';
import { addPast } from './past.ts';
import { addPhoto } from './photo.ts';
import { addPlan } from './plan.ts';
import { addPlates } from './plates.ts';
import { addPractice } from './practice.ts';
import { addPresets } from './presets.ts';
import { addReport } from './report.ts';
import { addScan } from './scan.ts';
import { addStatus } from './status.ts';
import { addVerify } from './verify.ts';

/** Every command of the program, in the order of the help. */
export const COMMANDS: readonly AddCommand[] = [
  addNew,
  addPresets,
  addAdd,
  addScan,
  addBulge,
  addPhoto,
  addCheck,
  addStatus,
  addReport,
  addPage,
  addHeats,
  addCard,
  addPlates,
  addPlan,
  addPast,
  addPractice,
  addMark,
  addVerify,
  addExport,
  addDemo,
];

import type { PracticeFile } from './file.ts';
import type { GirderTruth } from './girder.ts';
import { type PracticeState, practiceGirder, practiceStates } from './steel.ts';
import { type PracticeSurvey, practiceSurvey } from './survey.ts';

/** A practice replayed to where it stands. */
export interface Practice {
  readonly file: PracticeFile;
  readonly truth: GirderTruth;
  /** As found and after each heat. */
  readonly states: readonly PracticeState[];
  /** Surveys of each state, in the order they were taken. */
  readonly surveys: readonly (readonly PracticeSurvey[])[];
}

/** The whole practice from what its file keeps: seed and deeds. The same file gives the same to the last digit. */
export function replay(file: PracticeFile): Practice {
  const truth = practiceGirder(file.setUp);
  const heats = file.cycles.flatMap(({ heat }) => heat ?? []);
  const states = practiceStates(file.setUp, truth, heats);
  const surveys = file.cycles.map(({ underLoad }, cycle) =>
    underLoad.map((held, i) => practiceSurvey(file.setUp, truth, states[cycle]!, i + 1, held)),
  );
  return { file, truth, states, surveys };
}

/** The last survey of the last cycle as a sheet to be added: its file name and its text. */
export function newestSheet({ surveys }: Practice): { readonly name: string; readonly csv: string } {
  const cycle = surveys.length - 1;
  const taken = surveys[cycle]!.length;
  const again = taken === 1 ? '' : `-again-${taken - 1}`;
  return { name: `cycle-${`${cycle}`.padStart(2, '0')}${again}.csv`, csv: surveys[cycle]!.at(-1)!.csv };
}

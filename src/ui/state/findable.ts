import type { Note } from '../../tab/note.ts';
import { type OrnamentKind, ornamentsOf } from '../../tab/ornament.ts';
import { faultsOf } from '../../tab/remarks.ts';
import { contradicts } from './against-sound.ts';
import { marksOf } from './marks.ts';
import type { UiState } from './state.ts';

/** What notes can be searched by, besides holes, times and words. */
export const FINDABLE: Readonly<Record<string, (state: UiState, note: Note, at: number) => boolean>> = {
  unsure: (state, _, at) => marksOf(state).some((mark) => mark.at === at && mark.kind === 'doubt'),
  against: (state, note) => contradicts(state, note),
  flat: (_, note) => faultsOf(note).some((fault) => fault.startsWith('flat')),
  sharp: (_, note) => faultsOf(note).some((fault) => fault.startsWith('sharp')),
  leak: (_, note) => faultsOf(note).some((fault) => fault.startsWith('leak')),
  bend: (_, note) => note.bend > 0,
  over: (_, note) => note.over,
  ...Object.fromEntries(
    (['scoop', 'fall', 'vibrato', 'tremolo', 'hand', 'shake'] satisfies OrnamentKind[]).map((kind) => [
      kind,
      (_: UiState, note: Note) => ornamentsOf(note).some((ornament) => ornament.kind === kind),
    ]),
  ),
  corrected: (_, note) => note.flags.includes('corrected'),
};

import type { CustomHarp } from '../../harp/types.ts';
import type { Take } from '../../take/schema.ts';
import { hzToMidi, ISO_A4_HZ } from '../../units.ts';
import { nominalMidi, takeHarp } from './reference.ts';

/** What bends and notes are compared with: the harp's own tuning, or equal temperament. */
export type JudgeBy = 'harp' | 'equal';

/** The take with its cents against equal temperament on `a4Hz`, as a tuner shows them, instead of against the harp. */
export function againstEqual(take: Take, a4Hz: number = ISO_A4_HZ, custom: CustomHarp = {}): Take {
  const harp = takeHarp(take, custom);
  return {
    ...take,
    harp: { ...take.harp, a4Hz, temperament: 'equal' },
    notes: take.notes.map((note) => ({
      ...note,
      cents: 100 * (hzToMidi(note.f0Hz, a4Hz) - nominalMidi(harp, note)),
    })),
  };
}

import { describe, expect, it } from 'vitest';
import { Samples } from '../../../src/audio/samples.ts';
import { soundTab } from '../../../src/sound/tab-sound.ts';
import { Ears } from '../../../src/ui/state/ears.ts';

const RATE = 22_050;
const G4 = 392;
const A4 = 440;
/** Real-valued MIDI number on A4 = 440 Hz [calc]. */
const midiOf = (f0Hz: number) => 69 + 12 * Math.log2(f0Hz / 440);

function hear(
  notes: readonly [onsetSec: number, offsetSec: number, f0Hz: number][],
  lengthSec: number,
): Ears {
  const sound = soundTab(
    notes.map(([onsetSec, offsetSec, f0Hz]) => ({ onsetSec, offsetSec, f0Hz })),
    0,
    lengthSec,
    RATE,
  );
  return new Ears(Samples.from(sound, RATE));
}

describe('what the recording can tell', () => {
  const ears = hear(
    [
      [0.5, 0.9, G4],
      [0.95, 1.4, A4],
    ],
    2,
  );

  it('is where one note is really two', () => {
    const at = ears.dip({ onsetSec: 0.5, offsetSec: 1.4 });
    expect(at).toBeGreaterThan(0.9);
    expect(at).toBeLessThan(0.97);
    expect(ears.dip({ onsetSec: 0.52, offsetSec: 0.86 })).toBeNull();
  });

  it('is the pitch of a stretch, from a guess a few semitones off', () => {
    expect(ears.pitch(0.5, 0.9, midiOf(G4) + 2, 3)).toBeCloseTo(midiOf(G4), 1);
    expect(ears.pitch(0.95, 1.4, midiOf(G4), 3)).toBeCloseTo(midiOf(A4), 1);
    expect(ears.pitch(1.5, 1.9, midiOf(G4), 3)).toBeNull();
  });

  it('is where it is loudest', () => {
    const [from, to] = ears.loudest(0.1, 0.93) ?? [0, 0];
    expect(from).toBeCloseTo(0.5, 1);
    expect(to).toBeCloseTo(0.9, 1);
    expect(ears.loudest(1.5, 1.9)).toBeNull();
  });

  it('is nothing in silence', () => {
    expect(ears.levelDb(1.6, 1.7)).toBeLessThan(-100);
  });
});

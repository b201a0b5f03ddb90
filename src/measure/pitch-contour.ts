import { FinePitchMeter } from '../analysis/pitch/fine-pitch.ts';
import type { Samples } from '../audio/samples.ts';

/** A moment of a contour; `midi` is real-valued (A4 = 440 Hz), null if no pitch was clear. */
export interface ContourPoint {
  readonly sec: number;
  readonly midi: number | null;
}

/** Finer than the screen of a phone can show. */
const STEP_SEC = 0.02;
/** Below this harmonicity, in dB (10 log10), there is no pitch worth drawing. */
const LEAST_HARMONICITY_DB = 0;
/** Furthest step from one moment to the next, and from the note's held pitch: deep bends pass through three semitones. */
const REACH_SEMITONES = { step: 1, note: 3.4 } as const;

/** The pitch of each note every 20 ms, followed from its middle to both ends. */
export function pitchContours(
  samples: Samples,
  notes: readonly { readonly onsetSec: number; readonly offsetSec: number; readonly midi: number }[],
): ContourPoint[][] {
  const meter = new FinePitchMeter(samples);
  return notes.map(({ onsetSec, offsetSec, midi }) => {
    const count = Math.max(1, Math.floor((offsetSec - onsetSec) / STEP_SEC));
    const points = new Array<ContourPoint>(count);
    const follow = (from: number, to: number, by: number) => {
      let near = midi;
      for (let i = from; i !== to; i += by) {
        const sec = onsetSec + (i + 0.5) * STEP_SEC;
        const heard = meter.measure(sec, near);
        const clear =
          heard !== null &&
          heard.harmonicityDb > LEAST_HARMONICITY_DB &&
          Math.abs(heard.midi - near) < REACH_SEMITONES.step &&
          Math.abs(heard.midi - midi) < REACH_SEMITONES.note;
        if (clear) near = heard.midi;
        points[i] = { sec, midi: clear ? heard.midi : null };
      }
    };
    follow(count >> 1, count, 1);
    follow((count >> 1) - 1, -1, -1);
    return points;
  });
}

import { midiToHz } from '../units.ts';
import { pitchContour } from './contour.ts';
import type { SoundEvent } from './events.ts';
import { type Frames, HOP_SEC } from './frames.ts';
import { median } from './own-level.ts';
import type { Segment } from './segment.ts';

/** Stretches shorter than this don't help to find the harp. */
const SHORTEST_FRAMES = 14;
const SILENCE_SEC = 0.1;
/** Pitch and times are enough to tell harps apart; the dip is set to where a change of breath is as likely as none. */
const UNKNOWN_DIP_DB = 1.9;

/** Events good enough to find the harp by: pitch, times and pauses only. */
export function roughEvents(frames: Frames, segments: readonly Segment[]): SoundEvent[] {
  const long = segments.filter(({ fromFrame, toFrame }) => toFrame - fromFrame >= SHORTEST_FRAMES);
  return long.map(({ midi: decoded, fromFrame, toFrame }, i) => {
    const contourMidi = pitchContour(frames, decoded, fromFrame + 6, toFrame - 4);
    const midi = median(contourMidi);
    const onsetSec = fromFrame * HOP_SEC;
    const offsetSec = toFrame * HOP_SEC;
    const pauseSec = i === 0 ? SILENCE_SEC : (fromFrame - long[i - 1].toFrame) * HOP_SEC;
    return {
      onsetSec,
      offsetSec,
      start: pauseSec >= SILENCE_SEC ? 'silence' : 'gap',
      midi,
      f0Hz: midiToHz(midi),
      contourMidi,
      heldSec: [onsetSec, offsetSec],
      levelDb: 0,
      harmonicityDb: 0,
      dipDb: UNKNOWN_DIP_DB,
      strength: 0,
    };
  });
}

import { quantile } from '../../statistics.ts';
import type { Stretch } from '../notes/rearticulation/split-rearticulations.ts';
import { EVIDENCE_SLOTS, LOWEST_ROW_MIDI, STEPS_PER_NAT } from '../pitch/evidence.ts';
import { CANDIDATES, type Frames } from '../pitch/frames.ts';
import { TICK_SEC, TICKS_PER_FRAME } from '../pitch/partial-level.ts';

/** A sound that is already accounted for: its seconds, and its pitch as a real-valued MIDI number. */
interface KnownSound {
  readonly onsetSec: number;
  readonly offsetSec: number;
  readonly midi: number;
}

/** Evidence of the comb, or log odds of the network in nats, above which a frame sounds. */
const SOUNDS_STRENGTH = 0.9;
const SOUNDS_NATS = -1;
/** One sound keeps its pitch within this from frame to frame, in semitones, and may be inaudible for this many frames. */
const SAME_PITCH = 0.6;
const LONGEST_HOLE = 2;
/** Shorter sounds can't be notes, in frames. */
const SHORTEST = 6;
/** A sound that touches a note of the same pitch is its beginning, or its end in a room. */
const NEAR_SEC = 0.06;
const SAME_NOTE = 0.8;

/** What the decoder took for silence although a pitch is heard for 60 ms or more, in time order. */
export function refusedSounds(frames: Frames, known: readonly KnownSound[]): Stretch[] {
  const covered = new Uint8Array(frames.count);
  for (const { onsetSec, offsetSec } of known)
    covered.fill(1, Math.floor(onsetSec / frames.hopSec), Math.ceil(offsetSec / frames.hopSec));
  const sounds: Stretch[] = [];
  let run: { midis: number[]; from: number; to: number } | null = null;
  const close = (): void => {
    if (run !== null && run.to - run.from >= SHORTEST) {
      sounds.push({
        midi: quantile(run.midis, 0.5),
        fromTick: run.from * TICKS_PER_FRAME,
        toTick: run.to * TICKS_PER_FRAME,
        glide: false,
        rearticulated: false,
      });
    }
    run = null;
  };
  for (let t = 0; t < frames.count; t++) {
    const midi = covered[t] === 1 ? null : soundingMidi(frames, t);
    if (covered[t] === 1 || (run !== null && t - run.to > LONGEST_HOLE)) close();
    if (midi === null) continue;
    if (run !== null && Math.abs(run.midis[run.midis.length - 1] - midi) > SAME_PITCH) close();
    run ??= { midis: [], from: t, to: t };
    run.midis.push(midi);
    run.to = t + 1;
  }
  close();
  return sounds.filter((sound) => !isEdge(sound, known));
}

/** The strongest pitch of a frame in which one sounds; otherwise null. */
function soundingMidi({ candidateMidi, candidateStrength, evidence }: Frames, t: number): number | null {
  if (candidateStrength[t * CANDIDATES] >= SOUNDS_STRENGTH) return candidateMidi[t * CANDIDATES];
  let best = -1;
  for (let s = t * EVIDENCE_SLOTS; s < (t + 1) * EVIDENCE_SLOTS; s++) {
    if (evidence.rows[s] === 0 || evidence.sounding[s] < SOUNDS_NATS * STEPS_PER_NAT) continue;
    if (best < 0 || evidence.sounding[s] > evidence.sounding[best]) best = s;
  }
  return best < 0 ? null : LOWEST_ROW_MIDI + evidence.rows[best] - 1 + evidence.offset;
}

function isEdge({ midi, fromTick, toTick }: Stretch, known: readonly KnownSound[]): boolean {
  const [fromSec, toSec] = [fromTick * TICK_SEC, toTick * TICK_SEC];
  return known.some(
    (sound) =>
      Math.abs(sound.midi - midi) < SAME_NOTE &&
      (Math.abs(fromSec - sound.offsetSec) < NEAR_SEC || Math.abs(sound.onsetSec - toSec) < NEAR_SEC),
  );
}

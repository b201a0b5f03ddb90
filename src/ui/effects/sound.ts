import { findPlayable } from '../../harp/playable.ts';
import type { Playback } from '../../sound/play.ts';
import { stretchPieces } from '../../sound/stretch.ts';
import { mix, soundTab } from '../../sound/tab-sound.ts';
import type { Effect, UiState } from '../state/state.ts';

/** Sample rate of tab as sound if there is no recording, in Hz. */
const TAB_RATE_HZ = 22_050;
/** Whole seconds, so that pieces join at a sample. */
const PIECE_SEC = 1;

/** The sound of an effect, piece by piece, so that keys are answered while a long one is made. */
function* soundPieces(
  state: UiState,
  { what, fromSec, toSec, stretch: factor }: Effect & { kind: 'play' },
): Generator<Float32Array> {
  const { ears } = state;
  const sampleRate = rateOf(state);
  const tab = what === 'recording' ? null : tabSamples(state, fromSec, toSec, sampleRate);
  if (factor !== 1) {
    const recorded = what === 'tab' ? null : ears?.excerpt(fromSec, toSec);
    yield* stretchPieces(both(recorded, tab), sampleRate, factor);
    return;
  }
  for (let sec = fromSec; sec < toSec; sec += PIECE_SEC) {
    const recorded = what === 'tab' ? null : ears?.excerpt(sec, Math.min(toSec, sec + PIECE_SEC));
    const first = Math.round((sec - fromSec) * sampleRate);
    yield both(recorded, tab?.subarray(first, first + PIECE_SEC * sampleRate));
  }
}

function rateOf({ ears }: UiState): number {
  return ears?.sampleRate ?? TAB_RATE_HZ;
}

function both(recorded: Float32Array | null | undefined, tab: Float32Array | null | undefined): Float32Array {
  return recorded && tab ? mix(recorded, tab) : (recorded ?? tab ?? new Float32Array());
}

function tabSamples(state: UiState, fromSec: number, toSec: number, sampleRate: number): Float32Array {
  const notes = state.edited.take.notes
    .filter((note) => note.offsetSec > fromSec && note.onsetSec < toSec)
    .map(({ onsetSec, offsetSec, f0Hz, ...note }) => ({
      onsetSec,
      offsetSec,
      f0Hz: findPlayable(state.playable, note)?.f0Hz ?? f0Hz,
    }));
  return soundTab(notes, fromSec, toSec, sampleRate);
}

/** Plays what an effect asks for. */
export function play(
  playback: Playback,
  state: UiState,
  effect: Effect & { kind: 'play' },
  { onStart, onEnd }: { onStart(): void; onEnd(failure: string | null): void },
): void {
  const { loop } = effect;
  playback.play({ samples: soundPieces(state, effect), sampleRate: rateOf(state), loop, onStart }, onEnd);
}

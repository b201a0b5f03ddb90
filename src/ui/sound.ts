import type { Playback } from '../audio/play.ts';
import { stretch } from '../audio/stretch.ts';
import { mix, soundTab } from '../audio/tab-sound.ts';
import { findPlayable } from '../harp/playable.ts';
import type { Effect, UiState } from './state.ts';

/** Rate of the tab as sound when there is no recording to go by, in Hz. */
const TAB_RATE = 22_050;

/** What an effect sounds like, as samples. */
export function render(
  state: UiState,
  { what, fromSec, toSec, stretch: factor }: Effect & { kind: 'play' },
): { samples: Float32Array; sampleRate: number } {
  const sampleRate = state.ears?.sampleRate ?? TAB_RATE;
  const recorded = what === 'tab' ? null : (state.ears?.excerpt(fromSec, toSec) ?? null);
  const samples =
    what === 'recording'
      ? (recorded ?? new Float32Array())
      : mix(recorded ?? new Float32Array(), tabSamples(state, fromSec, toSec, sampleRate));
  return { samples: factor === 1 ? samples : stretch(samples, sampleRate, factor), sampleRate };
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
  onEnd: (failure: string | null) => void,
): void {
  playback.play({ ...render(state, effect), loop: effect.loop }, onEnd);
}

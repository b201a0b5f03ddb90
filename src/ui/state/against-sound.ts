import { parseHarpKey } from '../../harp/keys.ts';
import { noteName } from '../../harp/names.ts';
import { findPlayable } from '../../harp/playable.ts';
import type { PlayableNote } from '../../harp/types.ts';
import { UNMEASURED } from '../../tab/flags.ts';
import type { Note } from '../../tab/note.ts';
import { hzToMidi } from '../../units.ts';
import type { PitchTrack } from './hearing.ts';
import { intervalName } from './interval.ts';
import type { UiState } from './state.ts';

/** From here on a hole contradicts the sound, in semitones. */
const CONTRADICTS_SEMITONES = 1;
/** A pitch is only said of a note when this share of its middle is pitched, and so much of that agrees. */
const PITCHED_SHARE = 0.5;
const AGREEING_SHARE = 0.6;
const AGREEING_SEMITONES = 0.6;
/** The part of a note that is looked at: scoops and falls are at its ends. */
const MIDDLE = [0.2, 0.9] as const;

/** What sounds under notes by where they begin, and where that note ended: on another harp the sound stays what it is. */
const heard = new WeakMap<
  PitchTrack,
  Map<number, { readonly offsetSec: number; readonly midi: number | null }>
>();

/**
 * The pitch that sounds under a note, whatever it was read as.
 * @returns real-valued MIDI number (A4 = 440 Hz); null when no one pitch sounds
 */
export function soundingMidi(track: PitchTrack, note: Note): number | null {
  const known = heard.get(track) ?? new Map<number, { offsetSec: number; midi: number | null }>();
  heard.set(track, known);
  const { onsetSec, offsetSec } = note;
  const before = known.get(onsetSec);
  if (before?.offsetSec === offsetSec) return before.midi;
  const midi = measureMidi(track, note);
  known.set(onsetSec, { offsetSec, midi });
  return midi;
}

function measureMidi({ midi, stepSec }: PitchTrack, { onsetSec, offsetSec }: Note): number | null {
  const length = offsetSec - onsetSec;
  const from = Math.max(0, Math.ceil((onsetSec + MIDDLE[0] * length) / stepSec));
  const to = Math.min(midi.length, Math.floor((onsetSec + MIDDLE[1] * length) / stepSec) + 1);
  const pitched = midi
    .subarray(from, to)
    .filter((each) => !Number.isNaN(each))
    .sort();
  if (pitched.length === 0 || pitched.length < PITCHED_SHARE * (to - from)) return null;
  const median = pitched[pitched.length >> 1];
  const near = pitched.filter((each) => Math.abs(each - median) < AGREEING_SEMITONES);
  return near.length >= AGREEING_SHARE * pitched.length ? median : null;
}

/** Where nothing that is pitched sounds under a note. */
export function isSilent(track: PitchTrack, { onsetSec, offsetSec }: Note): boolean {
  const from = Math.max(0, Math.ceil(onsetSec / track.stepSec));
  const to = Math.min(track.midi.length, Math.ceil(offsetSec / track.stepSec));
  let pitched = 0;
  for (let t = from; t < to; t++) if (!Number.isNaN(track.midi[t])) pitched++;
  return pitched < 0.25 * (to - from);
}

/** What was found of each note, as long as it, the harp and what was heard are the same. */
const compared = new WeakMap<
  readonly PlayableNote[],
  WeakMap<Note, { readonly track: PitchTrack | undefined; readonly off: number | null }>
>();

/** How far the hole that stands written is above what sounds, in semitones; null when nothing can be said. */
export function againstSound(state: UiState, note: Note): number | null {
  const track = state.hearing?.track;
  const known = compared.get(state.playable) ?? new WeakMap();
  compared.set(state.playable, known);
  const before = known.get(note);
  if (before !== undefined && before.track === track) return before.off;
  const off = compare(state, note);
  known.set(note, { track, off });
  return off;
}

function compare(state: UiState, note: Note): number | null {
  const target = findPlayable(state.playable, note);
  if (target === undefined || note.flags.includes(UNMEASURED)) return null;
  const track = state.hearing?.track;
  const midi = (track === undefined ? null : soundingMidi(track, note)) ?? note.midi;
  return hzToMidi(target.f0Hz) - midi;
}

/** Whether a hole contradicts the sound: another reed that sounds along may be the clearer one. */
export function contradicts(state: UiState, note: Note): boolean {
  const off = againstSound(state, note);
  if (off === null || Math.abs(off) <= CONTRADICTS_SEMITONES) return false;
  const along = [...(note.holes ?? []), note.leak?.hole];
  return !state.playable.some(
    (each) =>
      along.includes(each.hole) &&
      each.breath === note.breath &&
      each.bend === 0 &&
      Math.abs(hzToMidi(each.f0Hz) - (hzToMidi(targetHz(state.playable, note)) - off)) < 0.5,
  );
}

export const targetHz = (playable: readonly PlayableNote[], note: Note): number =>
  findPlayable(playable, note)?.f0Hz ?? note.f0Hz;

/** What sounds under a note and how far from its hole: `sounds E5, a fifth lower`. */
export function contradictionText(state: UiState, note: Note): string {
  const off = againstSound(state, note) ?? 0;
  const tonic = parseHarpKey(state.edited.take.harp.key).tonicMidi % 12;
  const midi = Math.round(hzToMidi(targetHz(state.playable, note), state.edited.take.harp.a4Hz) - off);
  return `sounds ${noteName(midi, tonic)}, ${intervalName(off)} ${off > 0 ? 'lower' : 'higher'}`;
}

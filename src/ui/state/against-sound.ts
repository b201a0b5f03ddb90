import { CANDIDATES } from '../../analysis/pitch/frames.ts';
import { parseHarpKey } from '../../harp/keys.ts';
import { noteName } from '../../harp/names.ts';
import { findPlayable, soundingNotes } from '../../harp/playable.ts';
import type { PlayableNote } from '../../harp/types.ts';
import { quantile } from '../../statistics.ts';
import { UNMEASURED } from '../../tab/flags.ts';
import type { Note } from '../../tab/note.ts';
import { onHoles, type TabNote } from '../../tab/tab-note.ts';
import { formatTabNote } from '../../tab/text.ts';
import { A4_MIDI, hzToMidi } from '../../units.ts';
import type { PitchTrack, Sound } from './hearing.ts';
import { intervalName } from './interval.ts';
import type { UiState } from './state.ts';

/** From here on a hole contradicts the sound, in semitones. */
const CONTRADICTS_SEMITONES = 1;
/** A note only has a sounding pitch if this share of its middle is pitched, and this share of that agrees. */
const PITCHED_SHARE = 0.5;
const AGREEING_SHARE = 0.6;
const AGREEING_SEMITONES = 0.6;
/** The part of a note that is examined: scoops and falls are at its ends. */
const MIDDLE = [0.2, 0.9] as const;

/**
 * One of several holes is heard if its pitch is a candidate in this share of the pitched frames; the sound is that of
 * the holes if the strongest pitch is theirs in this share. [640 rendered chords, dry, in rooms, through phones and
 * codecs: 1 contradicted; of 52,000 wrong chords written over them, 92 % are contradicted, half of those that are an
 * octave off]
 */
const HEARD_SHARE = 0.2;
const OWN_SHARE = 0.5;
/** Several reeds at once are often heard as a common fundamental, or as a partial of one of them. */
const HIGHEST_PARTIAL = 8;
const PARTIAL_SEMITONES = 0.35;

/** What sounds under notes, by onset, with the offset it was found for: it stays the same on another harp. */
const heard = new WeakMap<
  PitchTrack,
  Map<number, { readonly offsetSec: number; readonly midi: number | null }>
>();

/**
 * The pitch that sounds under a note, whatever hole is written.
 * @returns real-valued MIDI number (A4 = 440 Hz); null when there is no single pitch, as with several holes
 */
export function soundingMidi(track: PitchTrack, note: Note): number | null {
  if (note.holes !== undefined) return null;
  const known = heard.get(track) ?? new Map<number, { offsetSec: number; midi: number | null }>();
  heard.set(track, known);
  const { onsetSec, offsetSec } = note;
  const before = known.get(onsetSec);
  if (before?.offsetSec === offsetSec) return before.midi;
  const midi = measureMidi(track, note);
  known.set(onsetSec, { offsetSec, midi });
  return midi;
}

/** The frames of a note's middle. */
function middleOf({ midi, stepSec }: PitchTrack, { onsetSec, offsetSec }: Note): [from: number, to: number] {
  const length = offsetSec - onsetSec;
  const from = Math.max(0, Math.ceil((onsetSec + MIDDLE[0] * length) / stepSec));
  return [from, Math.min(midi.length, Math.floor((onsetSec + MIDDLE[1] * length) / stepSec) + 1)];
}

function measureMidi(track: PitchTrack, note: Note): number | null {
  const { midi } = track;
  const [from, to] = middleOf(track, note);
  const pitched = midi.subarray(from, to).filter((each) => !Number.isNaN(each));
  if (pitched.length === 0 || pitched.length < PITCHED_SHARE * (to - from)) return null;
  const middle = quantile(pitched, 0.5);
  const near = pitched.filter((each) => Math.abs(each - middle) < AGREEING_SEMITONES);
  return near.length >= AGREEING_SHARE * pitched.length ? middle : null;
}

/** Whether nothing pitched sounds under a note. */
export function isSilent(track: PitchTrack, { onsetSec, offsetSec }: Note): boolean {
  const from = Math.max(0, Math.ceil(onsetSec / track.stepSec));
  const to = Math.min(track.midi.length, Math.ceil(offsetSec / track.stepSec));
  let pitched = 0;
  for (let t = from; t < to; t++) if (!Number.isNaN(track.midi[t])) pitched++;
  return pitched < 0.25 * (to - from);
}

/** Results by note, kept while the note, the harp and the sound are the same. */
const compared = new WeakMap<
  readonly PlayableNote[],
  WeakMap<Note, { readonly track: PitchTrack | undefined; readonly off: number | null }>
>();

/** How far the written hole is above what sounds, in semitones; null when unknown. */
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

/** Whether what is written contradicts the sound: a second reed may be the clearer one. */
export function contradicts(state: UiState, note: Note): boolean {
  const several = severalAgainstSound(state, note);
  if (several !== null) return several.unheard !== null || several.otherMidi !== null;
  const off = againstSound(state, note);
  if (off === null || Math.abs(off) <= CONTRADICTS_SEMITONES) return false;
  const along = [...(note.holes ?? []), note.leak?.hole];
  return !state.playable.some(
    (each) =>
      along.includes(each.hole) &&
      isNatural(each, note) &&
      Math.abs(hzToMidi(each.f0Hz) - (hzToMidi(targetHz(state.playable, note)) - off)) < 0.5,
  );
}

const isNatural = (each: PlayableNote, { breath }: Note): boolean =>
  each.breath === breath && each.bend === 0 && !each.over;

/** How a note of several holes contradicts the sound; nulls where it doesn't. */
interface SeveralAgainstSound {
  /** The first of its holes that isn't heard. */
  readonly unheard: number | null;
  /** The pitch that sounds and is none of theirs, real-valued MIDI (A4 = 440 Hz). */
  readonly otherMidi: number | null;
}

const AGREES: SeveralAgainstSound = { unheard: null, otherMidi: null };
const severalCompared = new WeakMap<
  Note,
  {
    readonly track: PitchTrack;
    readonly playable: readonly PlayableNote[];
    readonly found: SeveralAgainstSound;
  }
>();

/** Null for a note of one hole, and while the recording has not been heard. */
export function severalAgainstSound({ hearing, playable }: UiState, note: Note): SeveralAgainstSound | null {
  const track = hearing?.track;
  if (note.holes === undefined || track === undefined) return null;
  const before = severalCompared.get(note);
  if (before?.track === track && before.playable === playable) return before.found;
  const found = compareSeveral(track, playable, note);
  severalCompared.set(note, { track, playable, found });
  return found;
}

/** Each hole of a note and its pitch, real-valued MIDI (A4 = 440 Hz). */
const holePitches = (
  playable: readonly PlayableNote[],
  note: TabNote,
): { readonly hole: number; readonly midi: number }[] =>
  soundingNotes(playable, note).map(({ hole, f0Hz }) => ({ hole, midi: hzToMidi(f0Hz) }));

/** Whether two pitches are two holes of one note: what seems to sound one after the other is then both at once. */
export function areBothIn(
  { playable }: UiState,
  note: Note,
  one: Pick<Sound, 'midi'>,
  other: Pick<Sound, 'midi'>,
): boolean {
  const holeOf = (sound: Pick<Sound, 'midi'>): number | undefined =>
    holePitches(playable, note).find(({ midi }) => Math.abs(sound.midi - midi) < AGREEING_SEMITONES)?.hole;
  const [first, second] = [holeOf(one), holeOf(other)];
  return first !== undefined && second !== undefined && first !== second;
}

function compareSeveral(
  track: PitchTrack,
  playable: readonly PlayableNote[],
  note: Note,
): SeveralAgainstSound {
  const written = holePitches(playable, note);
  // A pitch an octave or a twelfth above another hole has no partials of its own and is not a candidate.
  const distinct = written.filter(
    ({ midi }) => !written.some((lower) => lower.midi < midi - 1 && isPartial(midi, lower.midi)),
  );
  const leaking = note.leak === null ? [] : [note.leak.hole];
  const midis = [
    ...written,
    ...leaking.flatMap((hole) =>
      holePitches(
        playable,
        onHoles(note, [hole], () => 0),
      ),
    ),
  ].map(({ midi }) => midi);
  const [from, to] = middleOf(track, note);
  const heardOf = distinct.map(() => 0);
  const others: number[] = [];
  let pitched = 0;
  for (let t = from; t < to; t++) {
    const strongest = track.midi[t];
    if (Number.isNaN(strongest)) continue;
    pitched++;
    const candidates = track.candidateMidi.subarray(t * CANDIDATES, (t + 1) * CANDIDATES);
    distinct.forEach(({ midi }, i) => {
      if (candidates.some((each) => Math.abs(each - midi) < AGREEING_SEMITONES)) heardOf[i]++;
    });
    if (!belongsTo(strongest, midis)) others.push(strongest);
  }
  if (pitched < PITCHED_SHARE * (to - from)) return AGREES;
  if (others.length > (1 - OWN_SHARE) * pitched) {
    return { unheard: null, otherMidi: quantile(others, 0.5) };
  }
  const silent = distinct.find((_, i) => heardOf[i] < HEARD_SHARE * pitched);
  return { unheard: silent?.hole ?? null, otherMidi: null };
}

/** Whether a pitch is a partial of another, including the first. */
function isPartial(midi: number, ofMidi: number): boolean {
  const number = Math.round(2 ** ((midi - ofMidi) / 12));
  if (number < 1 || number > HIGHEST_PARTIAL) return false;
  return Math.abs(midi - ofMidi - 12 * Math.log2(number)) < PARTIAL_SEMITONES;
}

/** Whether a pitch can be heard when these sound together: one of them, a partial, or their common fundamental. */
function belongsTo(midi: number, midis: readonly number[]): boolean {
  return (
    midis.some((each) => Math.abs(midi - each) < AGREEING_SEMITONES || isPartial(midi, each)) ||
    midis.every((each) => isPartial(each, midi))
  );
}

export const targetHz = (playable: readonly PlayableNote[], note: Note): number =>
  findPlayable(playable, note)?.f0Hz ?? note.f0Hz;

/**
 * How a note contradicts the sound: `sounds E5, a fifth lower`, `hole 5 isn't heard`.
 * @param named names the note, for text that is not beside it: `… a fifth lower than 7`, `… in -4+5`
 */
export function contradictionText(state: UiState, note: Note, named = false): string {
  const { key, a4Hz } = state.edited.take.harp;
  const tonic = parseHarpKey(key).tonicMidi % 12;
  const nameOf = (midi: number): string => noteName(Math.round(midi - hzToMidi(a4Hz) + A4_MIDI), tonic);
  const tab = formatTabNote(note);
  const several = severalAgainstSound(state, note);
  if (several?.otherMidi != null) {
    return `sounds ${nameOf(several.otherMidi)}, which ${named ? `isn't in ${tab}` : 'none of its holes does'}`;
  }
  if (several?.unheard != null) return `hole ${several.unheard} isn't heard${named ? ` in ${tab}` : ''}`;
  const off = againstSound(state, note) ?? 0;
  const sounding = nameOf(hzToMidi(targetHz(state.playable, note)) - off);
  const than = named ? ` than ${tab}` : '';
  return `sounds ${sounding}, ${intervalName(off)} ${off > 0 ? 'lower' : 'higher'}${than}`;
}

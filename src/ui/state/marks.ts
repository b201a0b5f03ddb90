import { parseHarpKey } from '../../harp/keys.ts';
import { noteName } from '../../harp/names.ts';
import type { PlayableNote } from '../../harp/types.ts';
import { ACCEPTED } from '../../tab/flags.ts';
import type { LeftOutReason, Note } from '../../tab/note.ts';
import { doubtOf, isDoubtful } from '../../tab/remarks.ts';
import { sameTab } from '../../tab/tab-note.ts';
import { formatTabNote } from '../../tab/text.ts';
import { hzToMidi, midiToHz } from '../../units.ts';
import {
  againstSound,
  areBothIn,
  contradictionText,
  contradicts,
  isSilent,
  targetHz,
} from './against-sound.ts';
import { nearest } from './doubt.ts';
import type { Hearing, Sound } from './hearing.ts';
import type { UiState } from './state.ts';

/**
 * A place to check: the decoder was unsure, or what is written differs from what sounds. `bare`: a sound without a
 * note; `silent`: a note without a sound; `pitch`: another pitch sounds; `two`: two notes sound; `again`: one note that
 * may be two; `one`: this note and the next sound as one; `onset`: it sounds earlier or later; `harp`: another fits
 * better; `left-out`: a sound that was heard but left out, which is not a fault.
 */
export interface Mark {
  readonly kind:
    | 'doubt'
    | 'bare'
    | 'silent'
    | 'pitch'
    | 'two'
    | 'again'
    | 'one'
    | 'onset'
    | 'harp'
    | 'left-out';
  /** Identifies the mark as long as it applies. */
  readonly key: string;
  readonly sec: number;
  /** Position of the note; for a sound without one, of the note before it, -1 if there is none. */
  readonly at: number;
  /** The sound that is the evidence for it. */
  readonly sound: Sound | null;
  /** Why the sound was left out. */
  readonly why?: LeftOutReason;
  /** What to check, in words. */
  readonly text: string;
  /** What Space does, in words. */
  readonly cure: string;
}

/** A hole this far from the sound is marked if another is this close. */
const FAR_SEMITONES = 0.6;
const NEAR_SEMITONES = 0.35;
/** A sound belongs to a note if they overlap by at least this share of the shorter. */
const COVERS = 0.5;
/** Parts of notes shorter than this are not reported. */
const SHORTEST_SEC = 0.07;
/** Two notes closer than this touch. */
const TOUCH_SEC = 0.04;
/** An onset further off than this is marked. */
const OFF_SEC = 0.09;
/** Another harp must be at least this likely, and the one written at most this likely. */
const HARP_LIKELY = 0.95;
const HARP_UNLIKELY = 0.1;

interface Known {
  readonly hearing: Hearing | null;
  readonly playable: readonly PlayableNote[];
  readonly marks: readonly Mark[];
  /** How many holes contradict the sound, including those that the player accepted. */
  readonly against: number;
}
const marked = new WeakMap<readonly Note[], Known>();

/** All places to check, in time order, without those that the player accepted. */
export function marksOf(state: UiState): readonly Mark[] {
  const { marks } = knownOf(state);
  return state.passed.size === 0 ? marks : marks.filter(({ key }) => !state.passed.has(key));
}

/** How many holes contradict the sound. */
export const againstCount = (state: UiState): number => knownOf(state).against;

function knownOf(state: UiState): Known {
  const { notes } = state.edited.take;
  const { hearing, playable } = state;
  let known = marked.get(notes);
  if (known === undefined || known.hearing !== hearing || known.playable !== playable) {
    const against = notes.filter((note) => contradicts(state, note)).length;
    known = { hearing, playable, marks: findMarks(state), against };
    marked.set(notes, known);
  }
  return known;
}

function findMarks(state: UiState): Mark[] {
  const { notes } = state.edited.take;
  const marks: Mark[] = [...harpMark(state)];
  const add = (kind: Mark['kind'], at: number, text: string, cure: string, sound: Sound | null = null) =>
    marks.push({ kind, key: `${kind} ${notes[at].id}`, sec: notes[at].onsetSec, at, sound, text, cure });
  const track = state.hearing?.track ?? null;
  const under = soundsUnder(notes, state.hearing?.sounds ?? []);
  notes.forEach((note, at) => {
    if (note.flags.includes(ACCEPTED)) return;
    if (contradicts(state, note)) {
      add('pitch', at, contradictionText(state, note, true), 'writes the hole that sounds');
      return;
    }
    const fitting = betterFit(state, note);
    if (fitting !== null) {
      add(
        'pitch',
        at,
        `sounds as ${formatTabNote(fitting)} does, not as ${formatTabNote(note)}`,
        'writes the hole that sounds',
      );
      return;
    }
    if (track !== null && under.of[at].length === 0 && isSilent(track, note)) {
      add('silent', at, `nothing sounds under ${formatTabNote(note)}`, 'deletes it');
      return;
    }
    const second = secondSound(state, note, under.of[at]);
    if (second !== null) add('two', at, 'two notes sound here', 'splits it', second);
    else if (isCutInTwo(notes, at, under))
      add('one', at, 'this note and the next sound as one', 'joins them');
    else if (isDoubtful(note)) {
      const doubt = doubtOf(note);
      if (doubt === 'two')
        add('again', at, `${formatTabNote(note)} may be played twice here`, 'splits it in two');
      else
        add('doubt', at, doubt === 'hole' ? doubtText(note) : claimText(note), 'writes the next likely hole');
    } else {
      const off = onsetOff(notes, at, under);
      if (off !== null) {
        const by = off.onsetSec - note.onsetSec;
        const text = `sounds ${Math.abs(by).toFixed(2)} s ${by < 0 ? 'earlier' : 'later'}`;
        add('onset', at, text, 'starts it there', off);
      }
    }
  });
  for (const { sound, after } of under.bare) {
    marks.push({
      kind: 'bare',
      key: `bare ${sound.onsetSec.toFixed(2)}`,
      sec: sound.onsetSec,
      at: after,
      sound,
      text: `${soundName(state, sound)} sounds here but no note is written`,
      cure: 'adds it',
    });
  }
  return marks.sort((a, b) => a.sec - b.sec);
}

/** The note of the harp that sounds, if the one written is clearly further off; else null. */
function betterFit(state: UiState, note: Note): PlayableNote | null {
  const off = againstSound(state, note);
  if (off === null || Math.abs(off) < FAR_SEMITONES || note.holes !== undefined) return null;
  const midi = hzToMidi(targetHz(state.playable, note)) - off;
  const [best] = nearest(state.playable, midiToHz(midi));
  return best !== undefined && Math.abs(hzToMidi(best.f0Hz) - midi) < NEAR_SEMITONES ? best : null;
}

function doubtText(note: Note): string {
  const [other] = note.alternatives;
  const sure = `${Math.round(100 * note.confidence)} % sure of ${formatTabNote(note)}`;
  return other === undefined ? sure : `${sure}, or ${formatTabNote(other)}`;
}

function claimText(note: Note): string {
  return `${Math.round(100 * note.confidence)} % sure that ${formatTabNote(note)} is there, and one note`;
}

function soundName(state: UiState, { midi }: Pick<Sound, 'midi'>): string {
  const { key, a4Hz } = state.edited.take.harp;
  return noteName(Math.round(midi - hzToMidi(a4Hz) + 69), parseHarpKey(key).tonicMidi % 12);
}

function harpMark(state: UiState): Mark[] {
  const { harp, notes } = state.edited.take;
  const [best, ...others] = state.hearing?.harps ?? [];
  if (best === undefined || notes.length === 0 || harp.custom !== undefined) return [];
  if (best.key === harp.key && best.tuning === harp.tuning) return [];
  const written = others.find(({ key, tuning }) => key === harp.key && tuning === harp.tuning);
  if (best.confidence < HARP_LIKELY || (written?.confidence ?? 0) > HARP_UNLIKELY) return [];
  const name = `${best.key}${best.tuning === 'richter' ? '' : ` ${best.tuning}`}`;
  return [
    {
      kind: 'harp',
      key: `harp ${name}`,
      sec: 0,
      at: 0,
      sound: null,
      text: `${name} fits the sound better than ${harp.key}`,
      cure: `reads everything on ${name}`,
    },
  ];
}

/** Which sounds belong to which notes. */
interface Under {
  /** Sounds of each note that overlap it by half of the shorter or more. */
  readonly of: readonly (readonly Sound[])[];
  /** Sounds without a note, and the position of the note before each, -1 if there is none. */
  readonly bare: readonly { readonly sound: Sound; readonly after: number }[];
}

const overlap = (a: { onsetSec: number; offsetSec: number }, b: { onsetSec: number; offsetSec: number }) =>
  Math.min(a.offsetSec, b.offsetSec) - Math.max(a.onsetSec, b.onsetSec);
const lengthOf = ({ onsetSec, offsetSec }: { onsetSec: number; offsetSec: number }) => offsetSec - onsetSec;

function soundsUnder(notes: readonly Note[], sounds: readonly Sound[]): Under {
  const of: Sound[][] = notes.map(() => []);
  const bare: { sound: Sound; after: number }[] = [];
  let first = 0;
  for (const sound of sounds) {
    while (first < notes.length && notes[first].offsetSec <= sound.onsetSec) first++;
    let covered = 0;
    for (let i = first; i < notes.length && notes[i].onsetSec < sound.offsetSec; i++) {
      const common = overlap(notes[i], sound);
      covered += Math.max(0, common);
      if (common >= COVERS * Math.min(lengthOf(notes[i]), lengthOf(sound))) of[i].push(sound);
    }
    if (lengthOf(sound) < SHORTEST_SEC || covered > 0.3 * lengthOf(sound)) continue;
    let after = first - 1;
    while (after + 1 < notes.length && notes[after + 1].onsetSec < sound.onsetSec) after++;
    bare.push({ sound, after });
  }
  return { of, bare };
}

/** The second of two sounds within one note, at which another note should begin. */
function secondSound(state: UiState, note: Note, sounds: readonly Sound[]): Sound | null {
  // A shake sounds as many notes.
  if (note.shake === true) return null;
  const inside = sounds.filter((sound) => overlap(note, sound) >= SHORTEST_SEC);
  for (const [i, second] of inside.slice(1).entries()) {
    if (areBothIn(state, note, inside[i], second)) continue;
    const before = second.onsetSec - note.onsetSec;
    if (before >= SHORTEST_SEC && note.offsetSec - second.onsetSec >= SHORTEST_SEC) return second;
  }
  return null;
}

function isCutInTwo(notes: readonly Note[], at: number, { of }: Under): boolean {
  const [note, next] = [notes[at], notes[at + 1]];
  if (next === undefined || next.onsetSec - note.offsetSec > TOUCH_SEC || !sameTab(note, next)) return false;
  return of[at].length === 1 && of[at + 1].length === 1 && of[at][0] === of[at + 1][0];
}

function onsetOff(notes: readonly Note[], at: number, { of }: Under): Sound | null {
  const [sound, second] = of[at];
  if (sound === undefined || second !== undefined) return null;
  if (of[at - 1]?.includes(sound) || of[at + 1]?.includes(sound)) return null;
  const off = sound.onsetSec - notes[at].onsetSec;
  return Math.abs(off) > OFF_SEC ? sound : null;
}

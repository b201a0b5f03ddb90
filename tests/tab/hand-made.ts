import { parseTune } from '../../samples/synth/tune.ts';
import type { EventStart, SoundEvent } from '../../src/analysis/notes/events.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import type { HarpSpec, PlayableNote } from '../../src/harp/types.ts';
import type { TabNote } from '../../src/tab/tab-note.ts';
import { hzToMidi, midiToHz } from '../../src/units.ts';

/** Level dips as recordings have them: a change of breath sinks by 15 to 25 dB, a slur hardly (common practice, no source). */
export const BREATH_DIP_DB = 20;
export const SLUR_DIP_DB = 0.3;

const NOTE_SEC = 0.4;

/** An event of this pitch; the rest as a clear held note after silence has it. */
export function event(midi: number, change: Partial<SoundEvent> = {}): SoundEvent {
  const onsetSec = change.onsetSec ?? 0;
  const offsetSec = change.offsetSec ?? onsetSec + NOTE_SEC;
  return {
    onsetSec,
    offsetSec,
    start: 'silence',
    midi,
    f0Hz: midiToHz(midi),
    expectedMidi: Math.round(midi),
    contourMidi: new Float32Array(Math.floor((offsetSec - onsetSec) * 100)).fill(midi),
    heldSec: [onsetSec + 0.07, offsetSec - 0.03],
    levelDb: -15,
    harmonicityDb: 30,
    dipDb: 0,
    strength: 3,
    soundingNats: 5,
    onsetNats: 2,
    partialsDb: new Float32Array(),
    ...change,
  };
}

/** A harp with this key, else Richter, equal, A4 = 440 Hz. */
export const harp = (key: string, change: Partial<HarpSpec> = {}): HarpSpec => ({
  key,
  tuning: 'richter',
  temperament: 'equal',
  a4Hz: 440,
  ...change,
});

/** The note of a harp that a sign of tab means, such as `-3''`. */
export function noteOf(notes: readonly PlayableNote[], sign: string): PlayableNote {
  const [wanted] = parseTune(sign);
  const found = notes.find((note) => wanted.kind === 'note' && isSame(note, wanted));
  if (!found) throw new Error(`this harp has no ${sign}`);
  return found;
}

const isSame = (a: TabNote, b: TabNote): boolean =>
  a.hole === b.hole && a.breath === b.breath && a.bend === b.bend && a.over === b.over;

/** Tab signs of notes: `4`, `-3''`, `6o`. */
export const signs = (notes: readonly TabNote[]): string =>
  notes
    .map(({ hole, breath, bend, over }) => {
      return `${breath === 'draw' ? '-' : ''}${hole}${over ? 'o' : ''}${"'".repeat(bend)}`;
    })
    .join(' ');

/**
 * Events of a tune as if it were played cleanly: a gap at each change of breath, else slurred, repeats tongued,
 * `~` a glide, `|` a pause.
 * @param cents how far each note is off, in turn and over again
 */
export function playedOn(spec: HarpSpec, tab: string, cents: readonly number[] = [0]): SoundEvent[] {
  const notes = playableNotes(spec);
  const events: SoundEvent[] = [];
  let before: PlayableNote | null = null;
  let sec = 0.5;
  for (const sign of tab.trim().split(/\s+/)) {
    if (sign === '|') {
      before = null;
      sec += 0.5;
      continue;
    }
    const note = noteOf(notes, sign.replace('~', ''));
    let start: EventStart = 'silence';
    let dipDb = 0;
    if (before !== null) {
      const same = isSame(before, note);
      start = sign.startsWith('~')
        ? 'glide'
        : same
          ? 'rearticulation'
          : before.breath === note.breath
            ? 'slur'
            : 'gap';
      dipDb = start === 'gap' || start === 'rearticulation' ? BREATH_DIP_DB : SLUR_DIP_DB;
    }
    const midi = hzToMidi(note.f0Hz) + cents[events.length % cents.length] / 100;
    events.push(event(midi, { start, dipDb, onsetSec: sec, offsetSec: sec + NOTE_SEC }));
    sec += NOTE_SEC;
    before = note;
  }
  return events;
}

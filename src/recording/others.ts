import { median, quantile } from '../statistics.ts';
import type { Detected, Span } from './problem.ts';
import { type PlayedSpan, powerDb, type Sound } from './sound.ts';

/** Time around notes in which the room, the breath and the attack sound. */
const BEFORE_SEC = 0.15;
const AFTER_SEC = 0.35;
/** A room that rings longer gets more time. */
const AFTER_SHARE = 0.8;
/** Talk is this much above the noise, and no softer than this relative to the playing. */
const ABOVE_DB = 12;
const SOFTEST_TALK_DB = -30;
/** Voices have formants and pitch, so their loudest bin stands this far above the median. Noise has some 12 dB. */
const CONTRAST_DB = 24;
const VOICE_HZ = [100, 4000] as const;
/** Less than this in all, or pieces shorter than this, are knocks. */
const LEAST_TALK_SEC = 0.5;
const LEAST_PIECE_SEC = 0.06;
/** Pieces this close together belong to one stretch of talk. */
const TOGETHER_SEC = 0.7;

/** Finds voices before, between and after the playing. */
export function findTalk(sound: Sound, ringSec: number): Detected | null {
  const { spectrogram, notes } = sound;
  const after = Math.max(AFTER_SEC, AFTER_SHARE * ringSec);
  const near = (sec: number): boolean =>
    notes.some(({ onsetSec, offsetSec }) => sec > onsetSec - BEFORE_SEC && sec < offsetSec + after);
  const voiced = sound
    .framesWhere((sec) => !near(sec))
    .filter((frame) => {
      const db = powerDb(sound.bandAt(frame));
      return (
        db > sound.noiseDb + ABOVE_DB &&
        db > sound.playingDb + SOFTEST_TALK_DB &&
        contrastDb(sound, frame) > CONTRAST_DB
      );
    });
  const places = stretchesOf(voiced, spectrogram.hopSec);
  const sec = voiced.length * spectrogram.hopSec;
  if (sec < LEAST_TALK_SEC || places.length === 0) return null;
  const total = places.reduce((sum, { fromSec, toSec }) => sum + toSec - fromSec, 0);
  return {
    kind: 'talk',
    severity: total > 5 ? 'marked' : 'slight',
    places,
    how: `${total.toFixed(1)} s in all`,
  };
}

function contrastDb(sound: Sound, frame: number): number {
  const { power, bins, binHz } = sound.spectrogram;
  const values = power.subarray(
    frame * bins + Math.ceil(VOICE_HZ[0] / binHz),
    frame * bins + Math.floor(VOICE_HZ[1] / binHz),
  );
  return powerDb(values.reduce((most, value) => Math.max(most, value), 0)) - powerDb(median([...values]));
}

function stretchesOf(frames: readonly number[], hopSec: number): Span[] {
  const runs: { from: number; to: number }[] = [];
  for (const frame of frames) {
    const last = runs[runs.length - 1];
    if (last !== undefined && frame - last.to <= 2) last.to = frame;
    else runs.push({ from: frame, to: frame });
  }
  const spans: { fromSec: number; toSec: number }[] = [];
  for (const { from, to } of runs) {
    if ((to - from + 1) * hopSec < LEAST_PIECE_SEC) continue;
    const last = spans[spans.length - 1];
    if (last !== undefined && from * hopSec - last.toSec <= TOGETHER_SEC) last.toSec = (to + 1) * hopSec;
    else spans.push({ fromSec: from * hopSec, toSec: (to + 1) * hopSec });
  }
  return spans;
}

/**
 * Range in which other instruments are searched for: from the lowest notes of a guitar (E2, 82 Hz) or a voice up to
 * what phones record well.
 */
const LOWEST_HZ = 70;
const HIGHEST_HZ = 3500;
/** What is this close to a partial belongs to it. */
const NEAR_HZ = 70;
/** Level of a tone beside the note, relative to the loudest partial of the note and to the bins around it. */
const BESIDE_DB = -27;
const LINE_DB = 4;
/** … and this many times the power that is always there, which for noise is a sixth of its mean. */
const NOISE_TIMES = 16;
const AROUND_BINS = 8;
const SHORTEST_NOTE_SEC = 0.15;
/** Where in a note other instruments are searched for: what came before has died away by then. */
const LOOK_AT = 0.65;
const FEWEST_NOTES = 5;
/** From this share of the notes on, somebody else is playing; the player's own second reeds are heard in fewer. */
const MOST_NOTES = 0.5;
/** In rooms that ring longer than this, notes further back are still heard. */
const LONG_RING_SEC = 0.9;
/**
 * An accompaniment goes on when the harp pauses: at this level relative to the playing in most pauses, and with lines
 * this far below those of the notes in half of them. [twenty rendered accompaniments: -5 to -20 and -9 to -42 dB;
 * players alone, some of whom play chords: mostly no line at all]
 */
const PLAYS_ON_DB = -23;
const PAUSE_LINE_DB = -45;
const PAUSE_SEC = 0.25;
/** A noise in one pause is not music, and an accompaniment has pauses, too. */
const QUIETER_PAUSES = 1 / 3;
const LINED_PAUSES = 0.6;
/** A pause that is loud without a line counts if it is this much louder than the noise. */
const ABOVE_NOISE_DB = 6;
/** How many notes may still ring in a pause. */
const RINGING_NOTES = 3;
/** A player who plays this share of the notes on several holes has other reeds beside the single notes, too. */
const CHORDS_SHARE = 0.4;

/**
 * Finds another instrument: tones beside most of the single notes that neither these nor the notes just before explain,
 * and that go on in pauses. Where the player plays chords, it is only reported if there are pauses.
 */
export function findAccompaniment(sound: Sound, ringSec: number, hums: boolean): Detected | null {
  const { notes } = sound;
  const told = notes.flatMap((note, i) => {
    // Combination tones of several reeds lie anywhere.
    if (note.allHz !== undefined || note.offsetSec - note.onsetSec < SHORTEST_NOTE_SEC) return [];
    const back = ringSec > LONG_RING_SEC ? [1, 2, 3] : [1];
    const known = [note, ...back.flatMap((k) => (notes[i - k] === undefined ? [] : [notes[i - k]]))];
    const sec = note.onsetSec + LOOK_AT * (note.offsetSec - note.onsetSec);
    return [besideDb(sound, sound.frameAt(sec), known.flatMap(pitchesOf), hums)];
  });
  if (told.length < FEWEST_NOTES) return null;
  const beside = told.filter((db) => db > BESIDE_DB);
  if (beside.length < MOST_NOTES * told.length) return null;
  const pauses = pausesOf(sound);
  const chords = notes.filter(({ allHz }) => allHz !== undefined).length;
  if (pauses.length === 0 ? chords >= CHORDS_SHARE * notes.length : !playsOn(sound, pauses)) return null;
  return {
    kind: 'accompaniment',
    severity: median(beside) > -12 ? 'severe' : 'marked',
    places: [sound.all],
    how: `heard beside ${beside.length} of ${told.length} notes`,
  };
}

/** How loud a pause is once the notes before it have died away. */
interface Pause {
  /** In the band of the harp, and the loudest line that isn't theirs; dB. */
  readonly bandDb: number;
  readonly lineDb: number;
}

function pausesOf(sound: Sound): Pause[] {
  return sound.pauses(PAUSE_SEC).map(({ fromSec, toSec }): Pause => {
    const [from, to] = [(fromSec + toSec) / 2, toSec].map((sec) => sound.frameAt(sec));
    const frames = Array.from({ length: to - from }, (_, d) => from + d);
    const ringing = sound.notes
      .filter(({ offsetSec }) => offsetSec <= fromSec)
      .slice(-RINGING_NOTES)
      .flatMap(pitchesOf);
    return {
      bandDb: median(frames.map((frame) => powerDb(sound.bandAt(frame)))),
      lineDb: median(
        frames
          .filter((_, d) => d % LASTS_FRAMES === 0)
          .map((frame) => linesAt(sound, frame, ringing, false).besideDb),
      ),
    };
  });
}

function playsOn(sound: Sound, pauses: readonly Pause[]): boolean {
  const bandDb = quantile(
    pauses.map((pause) => pause.bandDb),
    QUIETER_PAUSES,
  );
  if (bandDb < sound.playingDb + PLAYS_ON_DB) return false;
  const notesDb = median(
    sound.notes.map(
      (note) => linesAt(sound, sound.frameAt((note.onsetSec + note.offsetSec) / 2), [], false).topDb,
    ),
  );
  const lineDb = quantile(
    pauses.map((pause) => pause.lineDb),
    LINED_PAUSES,
  );
  return lineDb > notesDb + PAUSE_LINE_DB || (pauses.length === 1 && bandDb > sound.noiseDb + ABOVE_NOISE_DB);
}

const pitchesOf = ({ f0Hz, allHz = [f0Hz] }: PlayedSpan): readonly number[] => allHz;

/** Lines must last: the least power of frames so far apart that their windows don't overlap. */
const LASTS_FRAMES = 4;

/** The loudest line beside what is known, relative to the loudest of all, in dB. */
function besideDb(sound: Sound, frame: number, knownHz: readonly number[], hums: boolean): number {
  const lines = linesAt(sound, frame, knownHz, hums);
  return lines.besideDb - lines.topDb;
}

/** The loudest line beside what is known, and the loudest bin of all, in dB. */
function linesAt(
  sound: Sound,
  frame: number,
  knownHz: readonly number[],
  hums: boolean,
): { readonly besideDb: number; readonly topDb: number } {
  const { power, bins, binHz, frames } = sound.spectrogram;
  const { floor } = sound;
  const rows = [-LASTS_FRAMES, 0, LASTS_FRAMES].map(
    (d) => Math.max(0, Math.min(frames - 1, frame + d)) * bins,
  );
  const lasting = Float32Array.from({ length: bins }, (_, k) => Math.min(...rows.map((at) => power[at + k])));
  const to = Math.min(bins - AROUND_BINS, Math.floor(HIGHEST_HZ / binHz));
  let top = 0;
  let best = 0;
  for (let k = 2; k < to; k++) {
    const value = lasting[k];
    top = Math.max(top, value);
    const hz = k * binHz;
    if (hz < LOWEST_HZ || value <= best || value < lasting[k - 1] || value < lasting[k + 1]) continue;
    const belongs = (f0Hz: number): boolean =>
      Math.abs(hz - Math.max(1, Math.round(hz / f0Hz)) * f0Hz) < NEAR_HZ;
    if (knownHz.some(belongs)) continue;
    if (hums && hz < 1000) continue;
    const around = [...lasting.subarray(Math.max(1, k - AROUND_BINS), k + AROUND_BINS + 1)];
    if (powerDb(value) - powerDb(median(around)) < LINE_DB) continue;
    // Noise has lines too, but they don't last.
    if (value < NOISE_TIMES * Math.max(floor[k - 1], floor[k], floor[k + 1])) continue;
    best = value;
  }
  return { besideDb: powerDb(best), topDb: powerDb(top) };
}

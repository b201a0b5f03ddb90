import { median } from '../statistics.ts';
import type { Detected } from './problem.ts';
import { powerDb, type Sound } from './sound.ts';

/** How sound dies away when notes end. */
export interface Decay {
  /** Median over partials: how far the level has fallen a tenth of a second after the end of the note, dB. */
  readonly dropDb: number;
  /** Median time that the tail would take to fall by 60 dB, seconds. */
  readonly ringSec: number;
  readonly count: number;
}

/** Partials of a note whose decay is followed, up to this frequency, and the number of notes needed for a judgement. */
const PARTIALS = 4;
const HIGHEST_HZ = 7000;
const FEWEST = 6;
/** How far a note must stand above the noise floor for its end to be followed, and how far its tail. */
const NOTE_ABOVE_DB = 25;
const TAIL_ABOVE_DB = 6;
const DROP_AFTER_SEC = 0.1;
/** From here on the room sounds, not the reed. */
const TAIL_FROM_SEC = 0.08;
const FEWEST_FRAMES = 6;
const LONGEST_SEC = 0.5;
const SHORTEST_SEC = 0.22;
/** A partial of the next note this close would be taken for the tail. */
const APART_HZ = 90;
/** After a pause this long the next note doesn't matter. */
const PAUSE_SEC = 0.4;

/** Follows the partials of notes after their ends, where the next note leaves them free; null when too few can be followed. */
export function decayOf(sound: Sound): Decay | null {
  const { notes, spectrogram, floor } = sound;
  const drops: number[] = [];
  const rings: number[] = [];
  notes.forEach((note, i) => {
    const next = notes[i + 1];
    const pause = next === undefined || next.onsetSec - note.offsetSec > PAUSE_SEC;
    const until = Math.min(
      note.offsetSec + LONGEST_SEC,
      sound.durationSec,
      pause ? (next?.onsetSec ?? Number.POSITIVE_INFINITY) : next.offsetSec,
    );
    if (until - note.offsetSec < SHORTEST_SEC || note.offsetSec - note.onsetSec < 0.12) return;
    for (let k = 1; k <= PARTIALS && k * note.f0Hz < HIGHEST_HZ; k++) {
      const hz = k * note.f0Hz;
      if (!pause && Math.abs(hz - Math.max(1, Math.round(hz / next.f0Hz)) * next.f0Hz) < APART_HZ) continue;
      const at = (sec: number): number => powerDb(sound.lineAt(sound.frameAt(sec), hz));
      const bin = Math.round(hz / spectrogram.binHz);
      const ground = powerDb(3 * Math.max(floor[bin - 1], floor[bin], floor[bin + 1])) + TAIL_ABOVE_DB;
      const before = median([0.12, 0.1, 0.08, 0.06].map((sec) => at(note.offsetSec - sec)));
      if (before - ground < NOTE_ABOVE_DB) continue;
      drops.push(before - Math.max(ground, at(note.offsetSec + DROP_AFTER_SEC)));
      const ring = ringOf(
        (sec) => at(note.offsetSec + sec),
        until - note.offsetSec,
        ground,
        spectrogram.hopSec,
      );
      if (ring !== null) rings.push(ring);
    }
  });
  if (drops.length < FEWEST) return null;
  return { dropDb: median(drops), ringSec: rings.length === 0 ? 0 : median(rings), count: drops.length };
}

/** Time to fall by 60 dB, from a straight line through the tail (least squares); null when the tail is too short. */
function ringOf(
  levelAt: (sec: number) => number,
  untilSec: number,
  ground: number,
  hopSec: number,
): number | null {
  const points: [number, number][] = [];
  for (let sec = TAIL_FROM_SEC; sec < untilSec; sec += hopSec) {
    const level = levelAt(sec);
    if (level < ground) break;
    points.push([sec, level]);
  }
  if (points.length < FEWEST_FRAMES) return null;
  const meanSec = points.reduce((sum, [sec]) => sum + sec, 0) / points.length;
  const meanDb = points.reduce((sum, [, level]) => sum + level, 0) / points.length;
  let product = 0;
  let square = 0;
  for (const [sec, level] of points) {
    product += (sec - meanSec) * (level - meanDb);
    square += (sec - meanSec) ** 2;
  }
  const perSec = product / square;
  return perSec < -1 ? -60 / perSec : null;
}

/** In a living room, sound falls by 20 dB or more in the first tenth of a second after a note. */
const ROOMY_DROP_DB = 17;
const ROOMY_SEC = 0.95;
const ROOMY = { marked: 1.3, severe: 2.2 };

/** Finds a room that rings on. */
export function findRoom(sound: Sound, decay: Decay | null): Detected | null {
  if (decay === null || decay.dropDb > ROOMY_DROP_DB || decay.ringSec < ROOMY_SEC) return null;
  const { ringSec } = decay;
  return {
    kind: 'room',
    severity: ringSec > ROOMY.severe ? 'severe' : ringSec > ROOMY.marked ? 'marked' : 'slight',
    places: [sound.all],
    how: `about ${ringSec.toFixed(1)} s`,
  };
}

/** Signs of distance; any two of them are enough. */
const FAR_DROP_DB = 22;
const FAR_SNR_DB = 39;
const FAR_PLAYING_DB = -36;
/** A level this low means distance by itself. */
const FAINT_DB = -52;
/** The room is louder than the harp, without ringing long. */
const WALLS_DROP_DB = 16;

/**
 * Finds a player who is too far away: soft relative to full scale, close to the noise, more of the room than of the
 * harp.
 */
export function findFar(sound: Sound, decay: Decay | null): Detected | null {
  if (sound.notes.length === 0) return null;
  const { playingDb, snrDb } = sound;
  const dropDb = decay?.dropDb ?? Number.POSITIVE_INFINITY;
  const signs = [dropDb < FAR_DROP_DB, snrDb < FAR_SNR_DB, playingDb < FAR_PLAYING_DB].filter(Boolean).length;
  const walls = dropDb < WALLS_DROP_DB && (decay?.ringSec ?? 0) < ROOMY_SEC;
  if (signs < 2 && !walls && playingDb > FAINT_DB) return null;
  return {
    kind: 'far',
    severity: signs === 3 ? 'severe' : signs === 2 ? 'marked' : 'slight',
    places: [sound.all],
    how:
      playingDb < FAR_PLAYING_DB
        ? `your playing is ${Math.round(-playingDb)} dB below full level`
        : 'the walls are as loud as the harp',
  };
}

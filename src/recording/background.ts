import type { Samples } from '../audio/samples.ts';
import { median } from '../statistics.ts';
import type { Detected } from './problem.ts';
import { powerDb, type Sound } from './sound.ts';
import { binQuantiles, spectrogramOf } from './spectrogram.ts';

/**
 * Below these ratios of playing to noise, in dB, noise is reported. [rendered takes: good recordings have 38 and more]
 */
const NOISY_DB = { slight: 24, marked: 18, severe: 10 };

/** Noise that is loud relative to the playing; null when there is little. */
export function findNoise(sound: Sound, hums: boolean): Detected | null {
  const snrDb = hums ? sound.snrAboveHumDb : sound.snrDb;
  if (sound.notes.length === 0 || snrDb >= NOISY_DB.slight) return null;
  return {
    kind: 'noise',
    severity: snrDb < NOISY_DB.severe ? 'severe' : snrDb < NOISY_DB.marked ? 'marked' : 'slight',
    places: [sound.all],
    how: `${Math.round(Math.max(0, snrDb))} dB below it`,
  };
}

/** Mains frequencies of the world, and how many of their harmonics are examined. */
const MAINS_HZ = [50, 60] as const;
const HARMONICS = 6;
/** A line of hum stands out from its surroundings by this much, all through the recording. */
const STANDS_OUT_DB = 12;
const FEWEST_LINES = 3;
/** Hum softer than this relative to the playing disturbs nobody. */
const SOFTEST_HUM_DB = -46;
const HUM_DB = { marked: -32, severe: -20 };
/** A held note sounds for no more than this share of the time. */
const ALWAYS_SHARE = 0.15;
const APART_BINS = [5, 14] as const;

/** Lines at 50 or 60 Hz and their multiples that never stop. */
export function findHum(sound: Sound, samples: Samples): Detected | null {
  const long = spectrogramOf(samples, { windowSec: 0.74, hopSec: 0.1, topHz: 1000 });
  const always = binQuantiles(long, ALWAYS_SHARE);
  for (const mainsHz of MAINS_HZ) {
    let power = 0;
    let lines = 0;
    for (let k = 1; k <= HARMONICS; k++) {
      const at = Math.round((k * mainsHz) / long.binHz);
      const line = Math.max(always[at - 1], always[at], always[at + 1]);
      const around: number[] = [];
      for (let d = APART_BINS[0]; d <= APART_BINS[1]; d++)
        around.push(always[at - d] ?? 0, always[at + d] ?? 0);
      if (powerDb(line) - powerDb(median(around)) < STANDS_OUT_DB) continue;
      lines++;
      power += line;
    }
    const db = powerDb(power) - sound.playingDb;
    if (lines < FEWEST_LINES || db < SOFTEST_HUM_DB) continue;
    return {
      kind: 'hum',
      severity: db > HUM_DB.severe ? 'severe' : db > HUM_DB.marked ? 'marked' : 'slight',
      places: [sound.all],
      how: `${mainsHz} Hz and its multiples, ${Math.round(-db)} dB below your playing`,
    };
  }
  return null;
}

/** Shortest pause in which rising noise can be seen, and the margin at its ends. */
const PAUSE_SEC = 0.4;
const FREE_SEC = 0.06;
const LOOK_SEC = 0.1;
const STEP_SEC = 0.05;
/** The noise of a room rises by less than this in a pause. [household noise: up to 4 dB] */
const RISES_DB = 8;
const RISES = { marked: 11, severe: 16 };
/**
 * The band in which hiss is measured; what is louder than the floor by more than this is not noise raised by a gain.
 */
const HISS_HZ = [1000, 7000] as const;

/** Noise that swells in pauses and drops after notes: automatic gain of the recorder. */
export function findPumping(sound: Sound): Detected | null {
  const levels = sound.pauses(PAUSE_SEC).map(({ fromSec, toSec }) => {
    const looks: number[] = [];
    for (let sec = fromSec + FREE_SEC; sec + LOOK_SEC <= toSec - FREE_SEC; sec += STEP_SEC) {
      looks.push(hissDb(sound, sec, sec + LOOK_SEC));
    }
    return { span: { fromSec, toSec }, looks };
  });
  const swelling = levels.flatMap(({ span, looks }) => {
    if (looks.length < 3) return [];
    const lowest = looks.indexOf(Math.min(...looks));
    const after = looks.slice(lowest);
    // A lasting rise, not a knock: so the median of what follows the lowest third counts, too.
    const rise =
      Math.min(after[after.length - 1], median(after.slice(Math.floor(after.length / 2)))) - looks[lowest];
    return rise >= RISES_DB && after.length >= 3 ? [{ span, rise }] : [];
  });
  // The gain is up before the first note, which turns it down.
  const first = levels[0];
  const floor = Math.min(...levels.flatMap(({ looks }) => looks), Number.POSITIVE_INFINITY);
  const before =
    first !== undefined && first.span.fromSec === 0 && first.looks.length > 0
      ? median(first.looks) - floor
      : 0;
  const riseDb = Math.max(...swelling.map(({ rise }) => rise), before);
  const places = swelling.map(({ span }) => span);
  if (before >= RISES_DB && levels.length > 1) places.unshift(first.span);
  if (places.length === 0) return null;
  return {
    kind: 'gain-pumping',
    severity: riseDb > RISES.severe ? 'severe' : riseDb > RISES.marked ? 'marked' : 'slight',
    places: [...new Map(places.map((place) => [place.fromSec, place])).values()],
    how: `the noise swells by ${Math.round(riseDb)} dB in pauses`,
  };
}

/** Median power of the bins of hiss, so that tones and their reverberation don't count. */
function hissDb(sound: Sound, fromSec: number, toSec: number): number {
  const { power, bins, binHz, hopSec } = sound.spectrogram;
  const from = Math.ceil(HISS_HZ[0] / binHz);
  const to = Math.min(bins, Math.floor(HISS_HZ[1] / binHz));
  const values: number[] = [];
  for (let t = Math.ceil(fromSec / hopSec); t * hopSec <= toSec; t++) {
    for (let k = from; k < to; k += 2) values.push(power[t * bins + k] ?? 0);
  }
  return values.length === 0 ? powerDb(0) : powerDb(median(values));
}

import type { Detected } from './problem.ts';
import { powerDb, type Sound } from './sound.ts';
import { bandPower } from './spectrogram.ts';

/** A band that a telephone lets through, and one that it does not. */
const KEPT_HZ = [1000, 3000] as const;
const LOST_HZ = [4200, 7500] as const;
/** Partials of a harp fall by less than this from one to the other. [rendered takes: 25 dB at most, telephones 50] */
const CLIFF_DB = 35;
/** The limit if noise was added afterwards, which lowers the cliff; the room's own noise then has a cliff, too. */
const CLIFF_WITH_NOISE_DB = 26;
const NOISE_CLIFF_DB = 22;
/** A file at a lower sample rate holds no more than a telephone call does. */
const LEAST_RATE = 2 * LOST_HZ[0];

/** Finds the band of a telephone by what is missing above it. */
export function findBandwidth(sound: Sound): Detected | null {
  if (sound.sampleRate < LEAST_RATE) {
    return {
      kind: 'bandwidth',
      severity: 'marked',
      places: [sound.all],
      how: `the file has ${Math.round(sound.sampleRate)} samples a second`,
    };
  }
  if (sound.notes.length === 0) return null;
  const { power, binHz, bins } = sound.spectrogram;
  const mean = new Float32Array(bins);
  const frames = sound.framesWhere((sec) =>
    sound.notes.some(({ onsetSec, offsetSec }) => sec >= onsetSec && sec < offsetSec),
  );
  for (const t of frames) for (let k = 0; k < bins; k++) mean[k] += power[t * bins + k] / frames.length;
  const topHz = Math.min(LOST_HZ[1], 0.48 * sound.sampleRate);
  const cliff = (values: Float32Array): number =>
    powerDb(bandPower(values, binHz, ...KEPT_HZ)) - powerDb(bandPower(values, binHz, LOST_HZ[0], topHz));
  const playing = cliff(mean);
  const noise = cliff(sound.floor);
  if (playing < CLIFF_DB && !(playing > CLIFF_WITH_NOISE_DB && noise > NOISE_CLIFF_DB)) return null;
  return {
    kind: 'bandwidth',
    severity: 'marked',
    places: [sound.all],
    how: 'nothing above about 3500 Hz',
  };
}

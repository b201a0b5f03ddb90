import { addInto, levelTo, rms } from '../../../samples/synth/dsp.ts';
import { type Rng, seededRng } from '../../../samples/synth/rng.ts';
import { babble } from '../../../samples/synth/scene/company.ts';
import {
  bandPass,
  clipped,
  inRoom,
  peakTo,
  pinkNoise,
  speeded,
  whiteNoise,
  withHum,
} from '../../../samples/synth/scene/degrade.ts';
import { withGuitar } from '../../../samples/synth/scene/guitar.ts';
import { livedInNoise } from '../../../samples/synth/scene/surroundings.ts';
import { CLEAN, STUDENT, varied } from '../../../samples/synth/style.ts';
import { synthesise } from '../../../samples/synth/take.ts';
import type { TruthNote } from '../../../samples/synth/truth.ts';
import { TUNES } from '../../../samples/tunes.ts';
import { HARP_KEYS, parseHarpKey } from '../../../src/harp/keys.ts';
import type { ProblemKind } from '../../../src/recording/problem.ts';

/*
 * Recordings with one fault each, and good ones. All share what good recordings have, too: a living room's short ring,
 * a soft noise floor, quiet before and after; peaks between -14 and -3 dB of full scale.
 */

export const PLANT_RATE = 44_100;

/** A recording with what is wrong with it. */
export interface PlantedRecording {
  readonly samples: Float32Array;
  readonly sampleRate: number;
  /** Null when it is a good one. */
  readonly kind: ProblemKind | null;
  /** How strongly, in words, for those who look into it. */
  readonly how: string;
}

/** Phrases of a tune that a recording holds. */
const PHRASES = 3;

/** A tune as a good recording: returns dry sound with its notes, and the room it lies in. */
function goodTake(rng: Rng): {
  samples: Float32Array;
  notes: readonly TruthNote[];
  tonic: number;
  tempo: number;
} {
  const names = Object.keys(TUNES) as (keyof typeof TUNES)[];
  const phrases = TUNES[rng.pick(names)].split('|');
  const key = rng.pick(HARP_KEYS);
  const style = varied(rng.chance(0.5) ? STUDENT : CLEAN, rng);
  const take = synthesise(
    {
      name: 'planted',
      category: 'recording',
      harp: { key, tuning: 'richter', temperament: 'equal', a4Hz: rng.pick([440, 441, 442, 443]) },
      tab: phrases.slice(0, PHRASES).join('|'),
      style,
      seed: Math.floor(rng.next() * 1e9),
    },
    PLANT_RATE,
  );
  const before = Math.round(rng.between([0.4, 1.2]) * PLANT_RATE);
  const after = Math.round(rng.between([0.5, 1.2]) * PLANT_RATE);
  const samples = new Float32Array(before + take.samples.length + after);
  samples.set(take.samples, before);
  const shift = before / PLANT_RATE;
  const notes = take.truth.notes.map((note) => ({
    ...note,
    onsetSec: note.onsetSec + shift,
    offsetSec: note.offsetSec + shift,
  }));
  return { samples, notes, tonic: parseHarpKey(key).tonicMidi, tempo: take.truth.tempoBpm };
}

const db = (level: number): number => 10 ** (level / 20);
const one = (value: number): string => value.toFixed(1);

/** The floor of a quiet room, `snrDb` below the take. */
function withFloor(samples: Float32Array, snrDb: number, rng: Rng): Float32Array {
  const noise = rng.chance(0.5)
    ? pinkNoise(samples.length, rng)
    : livedInNoise(samples.length, PLANT_RATE, rng);
  return addInto(samples.slice(), levelTo(noise, rms(samples) * db(-snrDb)), 0);
}

const livingRoom = (samples: Float32Array, rng: Rng): Float32Array =>
  inRoom(
    samples,
    PLANT_RATE,
    { rt60Sec: rng.between([0.15, 0.4]), directToReverbDb: rng.between([8, 14]) },
    rng,
  );

/** A phone's automatic level: falls within milliseconds, rises in about a second, by up to 25 dB. */
function pumped(samples: Float32Array, rng: Rng): { samples: Float32Array; how: string } {
  const fallSec = rng.between([0.01, 0.06]);
  const riseSec = rng.between([0.25, 1]);
  const strength = rng.between([0.75, 1]);
  const mostDb = rng.between([16, 26]);
  const target = rms(samples);
  const fall = 1 - Math.exp(-1 / (fallSec * PLANT_RATE));
  const rise = 1 - Math.exp(-1 / (riseSec * PLANT_RATE));
  let envelope = 0;
  const out = samples.map((x) => {
    const magnitude = Math.abs(x);
    envelope += (magnitude > envelope ? fall : rise) * (magnitude - envelope);
    return x * Math.min(db(mostDb), (target / Math.max(envelope, 1e-6)) ** strength);
  });
  return {
    samples: out,
    how: `fall ${one(1000 * fallSec)} ms, rise ${one(riseSec)} s, up to ${one(mostDb)} dB`,
  };
}

/** A place inside the held part of a note, away from its ends. */
function inside(notes: readonly TruthNote[], marginSec: number, rng: Rng): number {
  const long = notes.filter(({ onsetSec, offsetSec }) => offsetSec - onsetSec > 2.5 * marginSec + 0.05);
  const { onsetSec, offsetSec } = rng.pick(long.length > 0 ? long : notes);
  return rng.between([onsetSec + marginSec, Math.max(onsetSec + marginSec, offsetSec - marginSec)]);
}

/** Other instruments that accompany a player: a strummed guitar, or held chords of a keyboard. */
function company(samples: Float32Array, tempo: number, tonic: number, level: number, rng: Rng): Float32Array {
  if (rng.chance(0.6)) {
    return withGuitar(samples, PLANT_RATE, tempo, tonic, level, rng, { strokeBeats: rng.pick([1, 2]) });
  }
  const track = new Float32Array(samples.length);
  const barSec = (4 * 60) / tempo;
  const roots = [0, 5, 7, 0, 9, 5, 7, 0];
  for (let bar = 0; bar * barSec < samples.length / PLANT_RATE; bar++) {
    const root = tonic - 12 + roots[bar % roots.length];
    const third = roots[bar % roots.length] === 9 ? 3 : 4;
    for (const semitones of [0, third, 7]) {
      const hz = 440 * 2 ** ((root + semitones - 69) / 12);
      const from = Math.round(bar * barSec * PLANT_RATE);
      const count = Math.round(0.95 * barSec * PLANT_RATE);
      for (let n = 0; n < count && from + n < track.length; n++) {
        const t = n / PLANT_RATE;
        const shape = Math.min(1, t / 0.02, (0.95 * barSec - t) / 0.05);
        let sum = 0;
        for (let k = 1; k <= 6; k++) sum += Math.sin(2 * Math.PI * k * hz * t) / k ** 1.5;
        track[from + n] += shape * sum;
      }
    }
  }
  return addInto(samples.slice(), levelTo(track, rms(samples) * db(level)), 0);
}

type Planting = (
  samples: Float32Array,
  take: ReturnType<typeof goodTake>,
  rng: Rng,
) => { samples: Float32Array; how: string };

/** What is done to the sound in the room; level and floor come after. */
const PLANTINGS: Readonly<Record<ProblemKind, Planting>> = {
  clipping: (samples, _take, rng) => {
    const share = rng.between([0.25, 0.6]);
    return { samples: clipped(samples, share), how: `${one(100 * share)} % of the peak cut off` };
  },
  'gain-pumping': (samples, _take, rng) => pumped(withFloor(samples, rng.between([42, 55]), rng), rng),
  hum: (samples, _take, rng) => {
    const mains = rng.pick([50, 60] as const);
    const level = rng.between([-32, -18]);
    return {
      samples: withHum(samples, PLANT_RATE, mains, level, rng),
      how: `${mains} Hz at ${one(level)} dB`,
    };
  },
  clicks: (samples, take, rng) => {
    const count = 4 + Math.floor(rng.next() * 8);
    const out = samples.slice();
    const peak = samples.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
    for (let i = 0; i < count; i++) {
      const at = Math.round(
        rng.chance(0.7) ? inside(take.notes, 0.05, rng) * PLANT_RATE : rng.next() * (out.length - 10),
      );
      const length = 1 + Math.floor(rng.next() * 4);
      const size = peak * rng.between([0.25, 0.9]) * (rng.chance(0.5) ? 1 : -1);
      for (let n = 0; n < length; n++) out[at + n] += size * (1 - n / length);
    }
    return { samples: out, how: `${count} clicks` };
  },
  dropouts: (samples, take, rng) => {
    const count = 2 + Math.floor(rng.next() * 5);
    const out = samples.slice();
    const lengths: number[] = [];
    for (let i = 0; i < count; i++) {
      const sec = rng.between([0.015, 0.12]);
      const at = inside(take.notes, 0.08, rng) - sec / 2;
      out.fill(0, Math.round(at * PLANT_RATE), Math.round((at + sec) * PLANT_RATE));
      lengths.push(Math.round(1000 * sec));
    }
    return { samples: out, how: `${lengths.join(', ')} ms` };
  },
  noise: (samples, _take, rng) => {
    const snr = rng.between([8, 20]);
    const kind = rng.pick(['white', 'pink', 'lived-in'] as const);
    const noise =
      kind === 'white'
        ? whiteNoise(samples.length, rng)
        : kind === 'pink'
          ? pinkNoise(samples.length, rng)
          : livedInNoise(samples.length, PLANT_RATE, rng);
    return {
      samples: addInto(samples.slice(), levelTo(noise, rms(samples) * db(-snr)), 0),
      how: `${kind} at ${one(snr)} dB`,
    };
  },
  room: (_samples, take, rng) => {
    const room = { rt60Sec: rng.between([1, 2.5]), directToReverbDb: rng.between([0, 6]) };
    return {
      samples: inRoom(take.samples, PLANT_RATE, room, rng),
      how: `${one(room.rt60Sec)} s, direct sound ${one(room.directToReverbDb)} dB`,
    };
  },
  bandwidth: (samples, _take, rng) => {
    const band = [rng.between([200, 320]), rng.between([2900, 3600])] as const;
    return {
      samples: bandPass(bandPass(samples, PLANT_RATE, band), PLANT_RATE, band),
      how: `${band.map(Math.round).join(' to ')} Hz`,
    };
  },
  far: (_samples, take, rng) => {
    const room = { rt60Sec: rng.between([0.35, 0.6]), directToReverbDb: rng.between([-9, -3]) };
    const snr = rng.between([24, 34]);
    return {
      samples: withFloor(inRoom(take.samples, PLANT_RATE, room, rng), snr, rng),
      how: `direct sound ${one(room.directToReverbDb)} dB, noise ${one(snr)} dB`,
    };
  },
  'cut-start': (samples, take, rng) => {
    const { onsetSec, offsetSec } = take.notes[0];
    const at = onsetSec + rng.between([0.25, 0.7]) * (offsetSec - onsetSec);
    return { samples: samples.slice(Math.round(at * PLANT_RATE)), how: 'begins in the first note' };
  },
  'cut-end': (samples, take, rng) => {
    const { onsetSec, offsetSec } = take.notes[take.notes.length - 1];
    const at = onsetSec + rng.between([0.25, 0.7]) * (offsetSec - onsetSec);
    return { samples: samples.slice(0, Math.round(at * PLANT_RATE)), how: 'ends in the last note' };
  },
  talk: (samples, _take, rng) => {
    const level = rng.between([-14, 2]);
    const speech = (sec: number): Float32Array =>
      levelTo(babble(sec, PLANT_RATE, rng), rms(samples) * db(level));
    const before = speech(rng.between([1.5, 4]));
    const after = rng.chance(0.5) ? speech(rng.between([1.5, 3])) : new Float32Array(0);
    const out = new Float32Array(before.length + samples.length + after.length);
    out.set(before);
    out.set(samples, before.length);
    out.set(after, before.length + samples.length);
    return { samples: out, how: `${one((before.length + after.length) / PLANT_RATE)} s at ${one(level)} dB` };
  },
  accompaniment: (samples, take, rng) => {
    const level = rng.between([-16, -3]);
    return { samples: company(samples, take.tempo, take.tonic, level, rng), how: `at ${one(level)} dB` };
  },
  speed: (samples, _take, rng) => {
    const percent = rng.chance(0.3)
      ? rng.pick([100 * (48_000 / 44_100 - 1), 100 * (44_100 / 48_000 - 1)])
      : rng.between([2, 3.6]) * (rng.chance(0.5) ? 1 : -1);
    return { samples: speeded(samples, percent), how: `${one(percent)} % faster` };
  },
};

/** Faults after which level and floor are left as they are: they made their own. */
const OWN_FLOOR: readonly ProblemKind[] = ['gain-pumping', 'noise', 'far'];

/** Makes one recording. The same seed gives the same. */
export function plant(kind: ProblemKind | null, seed: number): PlantedRecording {
  const rng = seededRng(seed);
  const take = goodTake(rng);
  const roomy = livingRoom(take.samples, rng);
  const floorDb = rng.between([42, 58]);
  // Digital damage comes after the microphone.
  const floored = kind === 'dropouts' || kind === 'clicks' || kind === 'clipping' || kind === 'bandwidth';
  const start = floored ? withFloor(roomy, floorDb, rng) : roomy;
  const { samples, how } =
    kind === null ? { samples: start, how: 'good' } : PLANTINGS[kind](start, take, rng);
  const whole =
    floored || (kind !== null && OWN_FLOOR.includes(kind)) ? samples : withFloor(samples, floorDb, rng);
  const peakDb = kind === 'far' ? rng.between([-36, -22]) : rng.between([-14, -3]);
  const peak = kind === 'clipping' && rng.chance(0.6) ? 1 : db(peakDb);
  return { samples: peakTo(whole, peak), sampleRate: PLANT_RATE, kind, how };
}

/** What else is truly there in recordings with a planted fault, so that naming it is right, too. */
export const ALSO: Readonly<Partial<Record<ProblemKind, readonly ProblemKind[]>>> = {
  far: ['room', 'noise'],
  room: ['far'],
  'gain-pumping': ['noise'],
};

import { addInto, resample, rms } from '../dsp.ts';
import type { Range, Rng } from '../rng.ts';
import type { SynthTake } from '../take.ts';
import { babble, handling, withClick } from './company.ts';
import { bandPass, clipped, inRoom, levelled, peakTo, speeded, withHum, withNoise } from './degrade.ts';
import { type GuitarManner, withGuitar } from './guitar.ts';
import { speededTruth, type Talker, withSilence, withTalk } from './scene.ts';
import { type Metronome, withMetronome, withRoomNoise } from './surroundings.ts';
import { betweenWalls, wandering } from './walls.ts';

/** What happens to a take on its way into the file; nothing for options that are left out. */
export interface Degradation {
  /** Talk before, between and after the phrases: at most this many pauses, each this long, at this level. */
  readonly talk?: { readonly pauses: number; readonly sec: Range; readonly db: number };
  /** Click track, peak against peak. */
  readonly clickDb?: number;
  /** What clicks (short blips when left out), and how often a beat. */
  readonly metronome?: { readonly make: Metronome; readonly perBeat: number };
  /** Guitar chords behind, level against level. */
  readonly guitarDb?: number;
  readonly guitar?: GuitarManner & {
    /** The guitar plays alone this long before and after, seconds. */
    readonly aloneSec?: Range;
  };
  /** Played back this much too fast. */
  readonly speedPercent?: number;
  readonly rt60?: number;
  /** Direct sound against reverberation, dB (6 when left out). */
  readonly drr?: number;
  /** Reflections by the geometry of a room, not by chance. */
  readonly walls?: boolean;
  /** The player turns and leans: the direct sound wanders with this standard deviation, dB. */
  readonly wanderDb?: number;
  /** Noise at this signal-to-noise ratio, dB. */
  readonly snr?: number;
  readonly noise?: 'white' | 'pink' | 'lived-in';
  /** Mains hum against the take. */
  readonly humDb?: number;
  readonly handling?: boolean;
  /** A telephone's band and levelling. */
  readonly phone?: 'narrow' | 'wide';
  /** The phone's levelling has turned itself up before the first note. */
  readonly turnedUp?: boolean;
  /** This share of the peak is cut off. */
  readonly clip?: number;
  readonly sampleRateHz?: number;
  /** Done outside, by the caller: codec by name, one dead channel. */
  readonly codec?: string;
  readonly deadChannel?: boolean;
}

const PHONE_BAND_HZ: Readonly<Record<'narrow' | 'wide', Range>> = { narrow: [300, 3400], wide: [200, 7000] };
const PEAK = 0.6;

/** The resulting take, with its truth adjusted; the peak is at 0.6 of full scale. */
export function roughened(
  clean: SynthTake,
  degradation: Degradation,
  rng: Rng,
  talker: Talker = babble,
): SynthTake {
  let take = clean;
  const on = (samples: Float32Array): void => {
    take = { ...take, samples };
  };
  const { sampleRate } = take;
  const d = degradation;
  if (d.talk) take = withTalk(take, talker, d.talk.pauses, d.talk.sec, d.talk.db, rng.fork('talk'));
  if (d.clickDb !== undefined) {
    const { tempoBpm } = take.truth;
    const click = rng.fork('click');
    const { make, perBeat } = d.metronome ?? { make: null, perBeat: 1 };
    on(
      make
        ? withMetronome(take.samples, sampleRate, tempoBpm, make, perBeat, d.clickDb, click)
        : withClick(take.samples, sampleRate, tempoBpm, d.clickDb, click),
    );
  }
  if (d.guitarDb !== undefined) {
    const tonic = take.truth.harp.blowMidi[0];
    const { tempoBpm } = take.truth;
    const guitar = rng.fork('guitar');
    const whole = rms(take.samples);
    if (d.guitar?.aloneSec) take = withSilence(take, d.guitar.aloneSec);
    // Level against level where the harp plays, however long the guitar is alone.
    const db = d.guitarDb + 20 * Math.log10(whole / rms(take.samples));
    on(withGuitar(take.samples, sampleRate, tempoBpm, tonic, db, guitar, d.guitar));
  }
  if (d.speedPercent !== undefined) {
    on(speeded(take.samples, d.speedPercent));
    take = { ...take, truth: speededTruth(take.truth, d.speedPercent) };
  }
  const nearness =
    d.wanderDb === undefined
      ? null
      : wandering(take.samples.length, sampleRate, d.wanderDb, rng.fork('wander'));
  if (d.rt60 !== undefined) {
    const room = { rt60Sec: d.rt60, directToReverbDb: d.drr ?? 6 };
    on(
      d.walls || nearness
        ? betweenWalls(take.samples, sampleRate, room, nearness, rng.fork('room'))
        : inRoom(take.samples, sampleRate, room, rng.fork('room')),
    );
  } else if (nearness) on(take.samples.map((value, n) => value * nearness[n]));
  if (d.handling) {
    const sounds = handling(take.samples.length / sampleRate, sampleRate, rng.fork('handling'));
    on(addInto(take.samples.slice(), sounds, 0));
  }
  if (d.humDb !== undefined) on(withHum(take.samples, sampleRate, 50, d.humDb, rng.fork('hum')));
  if (d.snr !== undefined) {
    const { noise = 'pink', snr } = d;
    const noiseRng = rng.fork('noise');
    on(
      noise === 'lived-in'
        ? withRoomNoise(take.samples, sampleRate, snr, noiseRng)
        : withNoise(take.samples, snr, noise, noiseRng),
    );
  }
  if (d.phone) {
    on(bandPass(take.samples, sampleRate, PHONE_BAND_HZ[d.phone]));
    on(levelled(take.samples, sampleRate, rng.fork('levelling'), d.turnedUp));
  }
  on(peakTo(take.samples, PEAK));
  if (d.clip !== undefined) on(peakTo(clipped(take.samples, d.clip), PEAK));
  if (d.sampleRateHz !== undefined) {
    const samples = resample(take.samples, sampleRate / d.sampleRateHz);
    take = { ...take, samples, sampleRate: d.sampleRateHz };
  }
  return { ...take, truth: { ...take.truth, degradation: { ...d } } };
}

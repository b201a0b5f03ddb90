import { babble, handling, withClick, withGuitar } from './company.ts';
import { bandPass, clipped, inRoom, levelled, peakTo, speeded, withHum, withNoise } from './degrade.ts';
import { addInto, resample } from './dsp.ts';
import type { Range, Rng } from './rng.ts';
import { speededTruth, type Talker, withTalk } from './scene.ts';
import type { SynthTake } from './take.ts';

/** What happens to a take on its way into the file. What is left out does not happen. */
export interface Degradation {
  /** Talk before, between and after the phrases: at most this many pauses, each this long, at this level. */
  readonly talk?: { readonly pauses: number; readonly sec: Range; readonly db: number };
  /** Click track, peak against peak. */
  readonly clickDb?: number;
  /** Guitar chords behind, level against level. */
  readonly guitarDb?: number;
  /** Played back this much too fast. */
  readonly speedPercent?: number;
  readonly rt60?: number;
  /** Direct sound against reverberation, dB (6 when left out). */
  readonly drr?: number;
  /** Noise at this signal-to-noise ratio, dB. */
  readonly snr?: number;
  readonly noise?: 'white' | 'pink';
  /** Mains hum against the take. */
  readonly humDb?: number;
  readonly handling?: boolean;
  /** A telephone's band and levelling. */
  readonly phone?: 'narrow' | 'wide';
  /** This share of the peak is cut off. */
  readonly clip?: number;
  readonly sampleRateHz?: number;
  /** Done outside, by the caller: codec by name, one dead channel. */
  readonly codec?: string;
  readonly deadChannel?: boolean;
}

const PHONE_BAND_HZ: Readonly<Record<'narrow' | 'wide', Range>> = { narrow: [300, 3400], wide: [200, 7000] };
const PEAK = 0.6;

/** The take as it comes out, with its truth moved along; the peak is at 0.6 of full scale. */
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
    on(withClick(take.samples, sampleRate, take.truth.tempoBpm, d.clickDb, rng.fork('click')));
  }
  if (d.guitarDb !== undefined) {
    const tonic = take.truth.harp.blowMidi[0];
    on(withGuitar(take.samples, sampleRate, take.truth.tempoBpm, tonic, d.guitarDb, rng.fork('guitar')));
  }
  if (d.speedPercent !== undefined) {
    on(speeded(take.samples, d.speedPercent));
    take = { ...take, truth: speededTruth(take.truth, d.speedPercent) };
  }
  if (d.rt60 !== undefined) {
    const room = { rt60Sec: d.rt60, directToReverbDb: d.drr ?? 6 };
    on(inRoom(take.samples, sampleRate, room, rng.fork('room')));
  }
  if (d.handling) {
    const sounds = handling(take.samples.length / sampleRate, sampleRate, rng.fork('handling'));
    on(addInto(take.samples.slice(), sounds, 0));
  }
  if (d.humDb !== undefined) on(withHum(take.samples, sampleRate, 50, d.humDb, rng.fork('hum')));
  if (d.snr !== undefined) on(withNoise(take.samples, d.snr, d.noise ?? 'pink', rng.fork('noise')));
  if (d.phone) {
    on(bandPass(take.samples, sampleRate, PHONE_BAND_HZ[d.phone]));
    on(levelled(take.samples, sampleRate, rng.fork('levelling')));
  }
  on(peakTo(take.samples, PEAK));
  if (d.clip !== undefined) on(peakTo(clipped(take.samples, d.clip), PEAK));
  if (d.sampleRateHz !== undefined) {
    const samples = resample(take.samples, sampleRate / d.sampleRateHz);
    take = { ...take, samples, sampleRate: d.sampleRateHz };
  }
  return { ...take, truth: { ...take.truth, degradation: { ...d } } };
}

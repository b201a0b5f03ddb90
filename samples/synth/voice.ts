import type { PlannedNote, Wave } from './plan.ts';
import { handClosed } from './planted.ts';
import type { Rng } from './rng.ts';

/** Notes that follow one another without the sound of their hole stopping. */
export interface Voice {
  readonly notes: readonly PlannedNote[];
  /** Slur into the next hole, if that is how the voice ends. */
  readonly slurOut: PlannedNote | null;
}

/** Pitch and level of a voice, one value every `hop` samples. */
export interface Contour {
  /** Sample index of the first value. */
  readonly firstSample: number;
  readonly hop: number;
  /** 1200 log2(f / 1 Hz). */
  readonly cents: Float64Array;
  /** Level in dB relative to a note at level 0; -Infinity when silent. */
  readonly levelDb: Float64Array;
  /** Breath noise in the same measure. */
  readonly noiseDb: Float64Array;
  /** Index of the note that the value belongs to, and how far the change from the note before has gone (0 to 1). */
  readonly noteIndex: Int32Array;
  readonly blend: Float64Array;
  /** How far the player's hands are closed, 0 to 1. */
  readonly closed: Float64Array;
}

const SILENT_DB = -75;
const DROOP_TIME_SEC = 0.022;
const REPEAT_BLEND_SEC = 0.012;
/** A note that falls off grows softer by this (common practice, no source). */
export const FALL_DB = 5;

/** Splits a take where the sounding hole changes or the sound stops. */
export function voicesOf(plan: readonly PlannedNote[]): Voice[] {
  const groups: PlannedNote[][] = [];
  for (const note of plan) {
    if (note.start === 'tongue' || note.start === 'glide') groups.at(-1)!.push(note);
    else groups.push([note]);
  }
  return groups.map((notes, i) => {
    const next = groups[i + 1]?.[0];
    return { notes, slurOut: next?.start === 'slur' ? next : null };
  });
}

const smooth = (x: number): number => {
  const u = Math.max(0, Math.min(1, x));
  return u * u * (3 - 2 * u);
};

const toCents = (hz: number): number => 1200 * Math.log2(hz);

/** Value of a wave at time t: fades in after its delay and out again before the note ends. */
export function waveAt(wave: Wave | null, t: number, note: PlannedNote): number {
  if (!wave) return 0;
  const grown = smooth((t - note.beginSec - wave.delaySec) / 0.2) * smooth((note.endSec - t) / 0.06);
  return grown * wave.depth * Math.sin(2 * Math.PI * wave.hz * (t - note.beginSec) + wave.phase);
}

/**
 * Level of a reed that starts to speak at time 0, in dB. Between two shapes: growth from a small swing until it
 * saturates (a van der Pol oscillator's amplitude), and a plain approach to the full level.
 * @param shape 0 growth, 1 approach
 */
export function attackDb(t: number, attackSec: number, shape: number): number {
  if (t <= 0) return -Infinity;
  const growth = -10 * Math.log10(1 + 9999 * Math.exp((-2 * t) / (attackSec / 4.6)));
  const approach = 20 * Math.log10(1 - Math.exp(-t / (attackSec / 1.22)));
  return (1 - shape) * growth + shape * approach;
}

function dipDb(note: PlannedNote, t: number): number {
  const { dip } = note;
  if (!dip) return 0;
  const after = t - note.beginSec;
  if (after < -dip.fallSec || after > dip.riseSec) return 0;
  if (after < 0) return -dip.depthDb * smooth((after + dip.fallSec) / ((1 - dip.holdShare) * dip.fallSec));
  return -dip.depthDb * (1 - after / dip.riseSec) ** 1.5;
}

/** How far a note has slid off, 0 to 1. */
export const fallen = ({ fall, endSec }: PlannedNote, t: number): number =>
  fall ? smooth((t - (endSec - fall.sec)) / fall.sec) : 0;

/** How far scoop and fall take the pitch at a time, in cents. */
export const slideCents = (note: PlannedNote, t: number): number =>
  -(note.scoop ? note.scoop.cents * (1 - smooth((t - note.beginSec) / note.scoop.sec)) : 0) -
  (note.fall ? note.fall.cents * fallen(note, t) : 0);

/** Pitch and level of one voice. */
export function contourOf(voice: Voice, sampleRate: number, hop: number, rng: Rng): Contour {
  const { notes, slurOut } = voice;
  const first = notes[0];
  const last = notes[notes.length - 1];
  const slurIn = first.start === 'slur' ? first.joinSec : 0;
  const fromSec = first.beginSec - slurIn / 2;
  const tailSec = slurOut ? slurOut.joinSec / 2 : last.releaseSec * (-SILENT_DB / 20);
  const stopSec = slurOut ? slurOut.beginSec : last.endSec;
  const firstSample = Math.max(0, Math.floor((fromSec * sampleRate) / hop)) * hop;
  const count = Math.ceil(((stopSec + tailSec) * sampleRate - firstSample) / hop) + 1;
  const contour = {
    firstSample,
    hop,
    cents: new Float64Array(count),
    levelDb: new Float64Array(count),
    noiseDb: new Float64Array(count),
    noteIndex: new Int32Array(count),
    blend: new Float64Array(count),
    closed: new Float64Array(count),
  };
  const shape = rng.between([0, 1]) * 0.8;
  const accent = notes.map(() => rng.between([0, 2.5]));
  const burstDb = notes.map(() => rng.between([4, 14]));
  const controlSec = hop / sampleRate;
  let wander = rng.normal();

  const pitchOf = (note: PlannedNote, t: number): number => {
    const since = Math.min(Math.max(t - note.beginSec, 0), note.endSec - note.beginSec);
    return (
      toCents(note.note.f0Hz) +
      note.offsetCents +
      note.driftCentsPerSec * since +
      slideCents(note, t) +
      waveAt(note.vibrato, t, note)
    );
  };
  const levelOf = (note: PlannedNote, i: number, t: number): number => {
    const since = Math.min(Math.max(t - note.beginSec, 0), note.endSec - note.beginSec);
    const accented = note.start === 'glide' ? 0 : accent[i] * Math.exp(-since / 0.07);
    const falls = note.fall ? FALL_DB * fallen(note, t) : 0;
    return note.levelDb + note.swellDbPerSec * since + accented - falls + waveAt(note.tremolo, t, note);
  };

  let index = 0;
  for (let c = 0; c < count; c++) {
    const t = (firstSample + c * hop) / sampleRate;
    while (index + 1 < notes.length && t >= notes[index + 1].beginSec - spanOf(notes[index + 1]) / 2) index++;
    const note = notes[index];
    const before = index > 0 ? notes[index - 1] : note;
    const span = index > 0 ? spanOf(note) : 0;
    const blend = span > 0 ? smooth((t - note.beginSec) / span + 0.5) : 1;
    wander += (-wander * controlSec) / 0.25 + rng.normal() * Math.sqrt((2 * controlSec) / 0.25);

    let cents = blend * pitchOf(note, t) + (1 - blend) * pitchOf(before, t);
    let level = blend * levelOf(note, index, t) + (1 - blend) * levelOf(before, Math.max(0, index - 1), t);
    const speaks = index === 0 ? note.beginSec + (slurIn ? 0 : 0.3 * note.attackSec) : note.beginSec;
    if (t > speaks) cents -= note.droopCents * Math.exp(-(t - speaks) / DROOP_TIME_SEC);
    else if (index === 0) cents -= note.droopCents;
    cents += wander * 0.8;
    if (!slurOut) cents += last.releaseRiseCents * smooth((t - last.endSec) / 0.12 + 0.5);
    if (note.start === 'glide') level -= 1.5 * Math.exp(-(((t - note.beginSec) / (0.4 * note.joinSec)) ** 2));
    for (let i = Math.max(1, index); i < Math.min(notes.length, index + 2); i++) level += dipDb(notes[i], t);

    const breathLevel = level;
    if (slurIn > 0) level += rampDb((t - first.beginSec) / slurIn + 0.5);
    else level += attackDb(t - first.beginSec, first.attackSec, shape);
    if (slurOut) level += rampDb(0.5 - (t - slurOut.beginSec) / slurOut.joinSec);
    else if (t > last.endSec) {
      const since = t - last.endSec;
      level -= (20 * since * since) / (since + 0.004) / last.releaseSec;
    }
    const puff = note.start === 'glide' || note.start === 'slur' ? 0 : burstDb[index];
    const sinceSpeak = t - note.beginSec;
    const burst = puff * Math.exp(-((Math.max(0, Math.abs(sinceSpeak - 0.008) - 0.01) / 0.012) ** 2));
    const air = smooth((t - fromSec) / 0.01) * smooth((stopSec + 0.02 - t) / 0.03);
    contour.cents[c] = cents;
    contour.levelDb[c] = level > SILENT_DB ? level : -Infinity;
    contour.noiseDb[c] =
      Math.max(level, breathLevel - 14) + note.breathNoiseDb + burst + 20 * Math.log10(air + 1e-6);
    contour.noteIndex[c] = index;
    contour.blend[c] = blend;
    contour.closed[c] = handClosed(note, t);
  }
  return contour;
}

const spanOf = (note: PlannedNote): number => (note.start === 'glide' ? note.joinSec : REPEAT_BLEND_SEC);

/** One side of an equal-power cross-fade, u from 0 (silent) to 1 (full). */
function rampDb(u: number): number {
  if (u <= 0) return -Infinity;
  return u >= 1 ? 0 : 20 * Math.log10(Math.sin((Math.PI / 2) * u));
}

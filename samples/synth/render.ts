import type { PlannedNote } from './plan.ts';
import { planEndSec } from './plan.ts';
import { handLossDb } from './planted.ts';
import type { Rng } from './rng.ts';
import { reedSpectrum, type Spectrum, type Timbre } from './timbre.ts';
import { type Contour, contourOf, type Voice, voicesOf } from './voice.ts';

/** Samples between two values of pitch and level (1.5 ms at 44.1 kHz). */
const HOP = 64;
const TAIL_SEC = 0.5;
/** Partials keep getting duller up to this many decibels for each decibel of level. */
const DULLING_LIMIT = 1.4;

/** A voice with what was really sounded: pitch, and the power of its partials. */
export interface RenderedVoice {
  readonly voice: Voice;
  readonly contour: Contour;
  /** Power of the partials at each value of the contour. */
  readonly power: Float64Array;
}

export interface RenderedTake {
  readonly samples: Float32Array;
  readonly sampleRate: number;
  readonly voices: readonly RenderedVoice[];
}

/** Turns a plan into sound at `sampleRate`; level 0 dB is an RMS of 0.1. */
export function renderTake(
  plan: readonly PlannedNote[],
  timbre: Timbre,
  sampleRate: number,
  rng: Rng,
): RenderedTake {
  const samples = new Float32Array(Math.ceil((planEndSec(plan) + TAIL_SEC) * sampleRate));
  const voices: RenderedVoice[] = [];
  for (const voice of voicesOf(plan)) {
    const contour = contourOf(voice, sampleRate, HOP, rng);
    const power = addPartials(samples, voice, contour, timbre, sampleRate);
    addBreath(samples, contour, sampleRate, rng);
    voices.push({ voice, contour, power });
    for (const leak of leaksOf(voice)) {
      const leakVoice: Voice = { notes: [leak], slurOut: null };
      addPartials(samples, leakVoice, contourOf(leakVoice, sampleRate, HOP, rng), timbre, sampleRate);
    }
    for (const notes of reedsBeside(voice)) {
      const beside: Voice = { notes, slurOut: null };
      addPartials(samples, beside, contourOf(beside, sampleRate, HOP, rng), timbre, sampleRate);
    }
  }
  return { samples, sampleRate, voices };
}

/** The second reed of each leaky note, as a note of its own. */
function leaksOf(voice: Voice): PlannedNote[] {
  return voice.notes.flatMap((note) =>
    note.leak
      ? [
          {
            ...note,
            note: note.leak.note,
            start: 'silence' as const,
            levelDb: note.levelDb + note.leak.levelDb,
            offsetCents: note.leak.cents,
            dip: null,
            joinSec: 0,
            scoop: null,
            leak: null,
          },
        ]
      : [],
  );
}

/** The other reeds of chords, each as a separate voice that continues where the chord is tongued again. */
function reedsBeside({ notes }: Voice): PlannedNote[][] {
  const lines: { hole: number; until: number; notes: PlannedNote[] }[] = [];
  for (const [i, note] of notes.entries()) {
    for (const reed of note.beside) {
      const line = lines.find(({ hole, until }) => hole === reed.note.hole && until === i - 1);
      const goesOn = line !== undefined && note.start === 'tongue';
      const sounded: PlannedNote = {
        ...note,
        note: reed.note,
        start: goesOn ? 'tongue' : 'silence',
        beginSec: note.beginSec + reed.lateSec,
        levelDb: note.levelDb + reed.levelDb,
        offsetCents: reed.cents,
        dip: goesOn ? note.dip : null,
        joinSec: 0,
        scoop: null,
        leak: null,
        beside: [],
      };
      if (goesOn) {
        line.notes.push(sounded);
        line.until = i;
      } else lines.push({ hole: reed.note.hole, until: i, notes: [sounded] });
    }
  }
  return lines.map((line) => line.notes);
}

function addPartials(
  out: Float32Array,
  voice: Voice,
  contour: Contour,
  timbre: Timbre,
  sampleRate: number,
): Float64Array {
  const spectra = voice.notes.map((note) => reedSpectrum(timbre, note.note, sampleRate));
  const count = Math.min(...spectra.map((s) => s.amplitude.length));
  const phases: Spectrum['phase'] = spectra[0].phase;
  const power = new Float64Array(contour.cents.length);
  let from = new Float64Array(count);
  let to = new Float64Array(count);
  const cosPart = new Float64Array(count);
  const sinPart = new Float64Array(count);
  for (let k = 0; k < count; k++) {
    cosPart[k] = Math.sin(phases[k]);
    sinPart[k] = Math.cos(phases[k]);
  }
  power[0] = amplitudesAt(voice, contour, 0, spectra, timbre, from);
  let angle = 0;
  for (let c = 0; c + 1 < power.length; c++) {
    power[c + 1] = amplitudesAt(voice, contour, c + 1, spectra, timbre, to);
    const f0 = 2 ** (contour.cents[c] / 1200);
    const f1 = 2 ** (contour.cents[c + 1] / 1200);
    const start = contour.firstSample + c * contour.hop;
    if (power[c] > 0 || power[c + 1] > 0) {
      for (let n = 0; n < contour.hop; n++) {
        const share = n / contour.hop;
        angle += (2 * Math.PI * (f0 + (f1 - f0) * share)) / sampleRate;
        const cos = Math.cos(angle);
        const sin = Math.sin(angle);
        let re = cos;
        let im = sin;
        let sum = 0;
        for (let k = 0; k < count; k++) {
          sum += (from[k] + (to[k] - from[k]) * share) * (cosPart[k] * re + sinPart[k] * im);
          const turned = re * cos - im * sin;
          im = re * sin + im * cos;
          re = turned;
        }
        if (start + n < out.length) out[start + n] += 0.1 * sum;
      }
      angle %= 2 * Math.PI;
    }
    [from, to] = [to, from];
  }
  return power;
}

/** Fills the amplitudes of the partials at one value of the contour. @returns their power */
function amplitudesAt(
  voice: Voice,
  contour: Contour,
  at: number,
  spectra: readonly Spectrum[],
  timbre: Timbre,
  out: Float64Array,
): number {
  const level = contour.levelDb[at];
  if (level === -Infinity) {
    out.fill(0);
    return 0;
  }
  const now = spectra[contour.noteIndex[at]].amplitude;
  const before = spectra[Math.max(0, contour.noteIndex[at] - 1)].amplitude;
  const blend = contour.blend[at];
  const gain = 10 ** (level / 20);
  const softer = Math.min(0, level);
  const { hand } = voice.notes[contour.noteIndex[at]];
  const f0Hz = 2 ** (contour.cents[at] / 1200);
  let power = 0;
  for (let k = 0; k < out.length; k++) {
    const dull = 10 ** ((softer * Math.min(DULLING_LIMIT, timbre.dulling * k)) / 20);
    const value = gain * dull * (blend * now[k] + (1 - blend) * before[k]);
    out[k] = hand ? value * 10 ** (-handLossDb(hand, contour.closed[at], (k + 1) * f0Hz) / 20) : value;
    power += (out[k] * out[k]) / 2;
  }
  return power;
}

/** Breath noise: white noise without its lowest and highest parts, following the contour's noise level. */
function addBreath(out: Float32Array, contour: Contour, sampleRate: number, rng: Rng): void {
  const lowPass = 1 - Math.exp((-2 * Math.PI * rng.between([3500, 8000])) / sampleRate);
  const highPass = 1 - Math.exp((-2 * Math.PI * rng.between([400, 1500])) / sampleRate);
  let smoothed = 0;
  let slow = 0;
  let gain = 0;
  for (let c = 0; c < contour.noiseDb.length; c++) {
    const target = 0.1 * 10 ** (contour.noiseDb[c] / 20);
    const start = contour.firstSample + c * contour.hop;
    for (let n = 0; n < contour.hop && start + n < out.length; n++) {
      gain += (target - gain) / contour.hop;
      smoothed += lowPass * ((rng.next() * 2 - 1) * 1.73 - smoothed);
      slow += highPass * (smoothed - slow);
      out[start + n] += gain * 1.6 * (smoothed - slow);
    }
  }
}

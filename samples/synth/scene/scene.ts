import { addInto, levelTo, rms } from '../dsp.ts';
import type { Range, Rng } from '../rng.ts';
import type { SynthTake } from '../take.ts';
import type { TakeTruth } from '../truth.ts';

/** Makes about this many seconds of talk at the take's rate. */
export type Talker = (sec: number, sampleRate: number, rng: Rng) => Float32Array;

/** A pause can be put in only where nothing sounds for at least this long. */
const QUIET_SEC = 0.12;
const ROOM_FOR_BREATH_SEC = 0.15;

/** The truth with every time mapped by `map`. */
function retimed(truth: TakeTruth, map: (sec: number) => number): TakeTruth {
  const to4 = (sec: number): number => Math.round(map(sec) * 1e4) / 1e4;
  return {
    ...truth,
    talkSec: truth.talkSec.map(([from, to]) => [to4(from), to4(to)]),
    notes: truth.notes.map((note) => ({
      ...note,
      onsetSec: to4(note.onsetSec),
      offsetSec: to4(note.offsetSec),
      sustainSec: [to4(note.sustainSec[0]), to4(note.sustainSec[1])],
    })),
  };
}

/** The truth of a take that is played back `percent` faster: earlier, and sharper. */
export function speededTruth(truth: TakeTruth, percent: number): TakeTruth {
  const factor = 1 + percent / 100;
  const cents = 1200 * Math.log2(factor);
  const earlier = retimed(truth, (sec) => sec / factor);
  return {
    ...earlier,
    notes: earlier.notes.map((note) => ({
      ...note,
      f0Hz: Math.round(note.f0Hz * factor * 1000) / 1000,
      cents: Math.round((note.cents + cents) * 100) / 100,
    })),
  };
}

/** Silence before and after a take. */
export function withSilence(take: SynthTake, [beforeSec, afterSec]: Range): SynthTake {
  const lead = Math.round(beforeSec * take.sampleRate);
  const samples = new Float32Array(lead + take.samples.length + Math.round(afterSec * take.sampleRate));
  samples.set(take.samples, lead);
  return { ...take, samples, truth: retimed(take.truth, (sec) => sec + lead / take.sampleRate) };
}

/**
 * Lets somebody talk before, between and after the phrases of a take.
 * @param pauses how many of the gaps between phrases are talked into, at most
 * @param db level of the talk against the playing
 */
export function withTalk(
  take: SynthTake,
  talker: Talker,
  pauses: number,
  lengthSec: Range,
  db: number,
  rng: Rng,
): SynthTake {
  const { notes } = take.truth;
  const gaps = notes.flatMap((note, i) =>
    i + 1 < notes.length && notes[i + 1].onsetSec - note.offsetSec > QUIET_SEC + 0.1
      ? [(note.offsetSec + notes[i + 1].onsetSec) / 2 + 0.02]
      : [],
  );
  while (gaps.length > pauses) gaps.splice(Math.floor(rng.next() * gaps.length), 1);
  const end = (notes.at(-1)?.offsetSec ?? 0) + 0.3;
  const cuts = [0, ...gaps, end];
  const level = rms(take.samples) * 10 ** (db / 20);

  const parts: Float32Array[] = [];
  const talkSec: [number, number][] = [];
  const shifts: { readonly fromSec: number; readonly bySec: number }[] = [];
  let length = 0;
  let shifted = 0;
  const push = (part: Float32Array): void => {
    parts.push(part);
    length += part.length;
  };
  cuts.forEach((cut, i) => {
    const speech = levelTo(talker(rng.between(lengthSec), take.sampleRate, rng), level);
    const pauseSec = speech.length / take.sampleRate + 2 * ROOM_FOR_BREATH_SEC;
    const pause = new Float32Array(Math.round(pauseSec * take.sampleRate));
    addInto(pause, speech, Math.round(ROOM_FOR_BREATH_SEC * take.sampleRate));
    const startSec = length / take.sampleRate + ROOM_FOR_BREATH_SEC;
    talkSec.push([startSec, startSec + speech.length / take.sampleRate]);
    push(pause);
    shifted += pause.length / take.sampleRate;
    shifts.push({ fromSec: cut, bySec: shifted });
    const next = cuts[i + 1];
    push(
      take.samples.subarray(Math.round(cut * take.sampleRate), next && Math.round(next * take.sampleRate)),
    );
  });
  const samples = new Float32Array(length);
  let at = 0;
  for (const part of parts) {
    samples.set(part, at);
    at += part.length;
  }
  const shift = (sec: number): number => {
    let by = 0;
    for (const step of shifts) if (sec >= step.fromSec) by = step.bySec;
    return sec + by;
  };
  const truth = retimed(take.truth, shift);
  const round = (sec: number): number => Math.round(sec * 1e4) / 1e4;
  return { ...take, samples, truth: { ...truth, talkSec: talkSec.map(([a, b]) => [round(a), round(b)]) } };
}

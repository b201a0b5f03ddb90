import { rms } from '../../../samples/synth/dsp.ts';
import { type PlannedNote, planTake } from '../../../samples/synth/plan.ts';
import { seededRng } from '../../../samples/synth/rng.ts';
import type { SynthTake, TakeSpec } from '../../../samples/synth/take.ts';
import { type TruthNote, truthBeside, truthHarp, withShakes } from '../../../samples/synth/truth.ts';
import { parseTune } from '../../../samples/synth/tune.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import { renderMidi } from './external.ts';
import { withOrnaments } from './sampled-ornaments.ts';

const SAMPLE_RATE = 44100;
/** Zero-based General MIDI program of the harmonica. */
const HARMONICA = 22;
const TICKS_PER_SEC = 1000;
const BELOW_EARLY_DB = -15;

/**
 * A take played by a sampled harmonica. Odd and even notes are rendered apart, so that onsets, offsets and pitches
 * can be measured on each note alone; the take is their sum.
 */
export function soundfontTake(spec: TakeSpec, soundfont: string): SynthTake {
  const rng = seededRng(spec.seed);
  const playable = playableNotes(spec.harp);
  const plan = planTake(parseTune(spec.tab), playable, { ...spec.style, leakShare: 0 }, rng.fork('plan'));
  const velocities = plan.map(() => Math.round(rng.between([70, 115])));
  const layers = [0, 1].map((parity) =>
    withOrnaments(
      renderMidi(midiOf(plan, velocities, parity), soundfont, SAMPLE_RATE),
      plan,
      parity,
      SAMPLE_RATE,
    ),
  );
  const samples = new Float32Array(Math.max(...layers.map((layer) => layer.length)));
  for (const layer of layers) for (let n = 0; n < layer.length; n++) samples[n] += layer[n];

  const measured = plan.map((note, i) => measure(layers[i % 2], note, plan[i + 2], spec.harp.a4Hz));
  const notes = measured.map((note, i): TruthNote => {
    const next = measured[i + 1];
    const goesOn = next !== undefined && next.onsetSec <= note.offsetSec;
    return goesOn ? { ...note, offsetSec: next.onsetSec } : note;
  });
  return {
    samples,
    sampleRate: SAMPLE_RATE,
    truth: {
      audio: `${spec.name}.wav`,
      harp: truthHarp(spec.harp, playable),
      category: spec.category,
      seed: spec.seed,
      tab: spec.tab,
      tempoBpm: Math.round(spec.style.tempoBpm * 10) / 10,
      degradation: {},
      talkSec: [],
      notes: withShakes(notes, plan),
    },
  };
}

function measure(
  layer: Float32Array,
  planned: PlannedNote,
  nextInLayer: PlannedNote | undefined,
  a4Hz: number,
): TruthNote {
  const hop = 64;
  const level = (sec: number): number => {
    const at = Math.floor(sec * SAMPLE_RATE);
    return 20 * Math.log10(rms(layer.subarray(Math.max(0, at - 128), at + 128)) + 1e-9);
  };
  const stop = Math.min(nextInLayer?.beginSec ?? Infinity, planned.endSec + 1);
  let early = -Infinity;
  for (
    let t = planned.beginSec;
    t < Math.min(planned.beginSec + 0.2, planned.endSec);
    t += hop / SAMPLE_RATE
  ) {
    early = Math.max(early, level(t));
  }
  const wanted = early + BELOW_EARLY_DB;
  let onsetSec = planned.beginSec;
  while (level(onsetSec) < wanted && onsetSec < planned.endSec) onsetSec += hop / SAMPLE_RATE;
  let offsetSec = planned.endSec;
  while (level(offsetSec) > wanted && offsetSec < stop) offsetSec += hop / SAMPLE_RATE;
  const sustainSec: [number, number] = [onsetSec + 0.07, Math.max(onsetSec + 0.1, planned.endSec - 0.02)];
  const f0Hz = measuredHz(layer, planned.note.f0Hz, sustainSec);
  const { note } = planned;
  return {
    onsetSec: round(onsetSec, 4),
    offsetSec: round(offsetSec, 4),
    f0Hz: round(f0Hz, 3),
    nominalMidi: note.midi,
    cents: round(1200 * Math.log2(f0Hz / (a4Hz * 2 ** ((note.midi - 69) / 12))), 2),
    hole: note.hole,
    breath: note.breath,
    bend: note.bend,
    over: note.over,
    start: planned.start,
    leak: null,
    sustainSec: [round(sustainSec[0], 4), round(sustainSec[1], 4)],
    ...truthBeside(planned),
  };
}

const round = (value: number, digits: number): number => Math.round(value * 10 ** digits) / 10 ** digits;

/** Mean pitch by the turning of the first partials' phases against the nominal pitch, strongest partials counting most. */
function measuredHz(layer: Float32Array, nominalHz: number, [from, to]: readonly [number, number]): number {
  const start = Math.floor(from * SAMPLE_RATE);
  const length = Math.floor((to - from) * SAMPLE_RATE);
  const block = 512;
  let weighted = 0;
  let weights = 0;
  for (let k = 1; k <= 4; k++) {
    let angle = 0;
    let turned = 0;
    let power = 0;
    let steps = 0;
    let last: number | null = null;
    for (let at = 0; at + 4 * block <= length; at += block) {
      let re = 0;
      let im = 0;
      for (let n = 0; n < 4 * block; n++) {
        const window = 0.5 - 0.5 * Math.cos((2 * Math.PI * n) / (4 * block));
        angle = (2 * Math.PI * k * nominalHz * (at + n)) / SAMPLE_RATE;
        re += window * layer[start + at + n] * Math.cos(angle);
        im -= window * layer[start + at + n] * Math.sin(angle);
      }
      const phase = Math.atan2(im, re);
      if (last !== null) {
        let step = phase - last;
        step -= 2 * Math.PI * Math.round(step / (2 * Math.PI));
        turned += step;
        steps++;
      }
      last = phase;
      power += re * re + im * im;
    }
    if (steps === 0) continue;
    const hz = nominalHz + (turned / (2 * Math.PI) / k) * (SAMPLE_RATE / (steps * block));
    weighted += power * k * hz;
    weights += power * k;
  }
  return weights > 0 ? weighted / weights : nominalHz;
}

/** A format-0 MIDI file (MIDI Files Specification 1.0) with every second note of the plan. */
function midiOf(plan: readonly PlannedNote[], velocities: readonly number[], parity: number): Uint8Array {
  const events: { tick: number; bytes: number[] }[] = [
    { tick: 0, bytes: [0xff, 0x51, 3, 0x0f, 0x42, 0x40] },
    { tick: 0, bytes: [0xc0, HARMONICA] },
  ];
  plan.forEach((planned, i) => {
    if (i % 2 !== parity) return;
    events.push({
      tick: Math.round(planned.beginSec * TICKS_PER_SEC),
      bytes: [0x90, planned.note.midi, velocities[i]],
    });
    events.push({ tick: Math.round(planned.endSec * TICKS_PER_SEC), bytes: [0x80, planned.note.midi, 0] });
  });
  events.sort((a, b) => a.tick - b.tick);
  const track: number[] = [];
  let tick = 0;
  for (const event of events) {
    track.push(...variableLength(event.tick - tick), ...event.bytes);
    tick = event.tick;
  }
  track.push(0, 0xff, 0x2f, 0);
  const text = (value: string): number[] => [...value].map((char) => char.charCodeAt(0));
  const long = (value: number): number[] => [
    value >>> 24,
    (value >>> 16) & 255,
    (value >>> 8) & 255,
    value & 255,
  ];
  return Uint8Array.from([
    ...text('MThd'),
    ...long(6),
    0,
    0,
    0,
    1,
    TICKS_PER_SEC >> 8,
    TICKS_PER_SEC & 255,
    ...text('MTrk'),
    ...long(track.length),
    ...track,
  ]);
}

function variableLength(value: number): number[] {
  const bytes = [value & 127];
  for (let rest = value >> 7; rest > 0; rest >>= 7) bytes.unshift((rest & 127) | 128);
  return bytes;
}

import { seededRng } from '../../samples/synth/rng.ts';
import { CONTOUR_STEP_SEC, type SoundEvent } from '../../src/analysis/notes/events.ts';
import { Samples } from '../../src/audio/samples.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import type { HarpSpec, PlayableNote } from '../../src/harp/types.ts';
import type { HoleReading } from '../../src/holes/holes.ts';
import { findReeds, type NoteReeds, noteObserver, type ObservedNote } from '../../src/measure/leak/leaks.ts';
import { midiToHz } from '../../src/units.ts';

export const RATE = 22_050;

/** A reed that sounds: its pitch over time (MIDI), its level in dB, and how its partials fall. */
export interface Reed {
  readonly midi: number | ((sec: number) => number);
  readonly levelDb: number;
  readonly slopeDbPerOctave?: number;
  /** Seconds from which and until which it sounds. */
  readonly fromSec?: number;
  readonly toSec?: number;
}

const TOP_HZ = 8000;

/** Reeds added up, with white noise so many dB below the first (none when left out). Partials in cosine phase jumbled. */
export function sound(reeds: readonly Reed[], lengthSec: number, noiseDb?: number, seed = 1): Samples {
  const rng = seededRng(seed);
  const data = new Float32Array(Math.round(lengthSec * RATE));
  for (const { midi, levelDb, slopeDbPerOctave = 6, fromSec = 0, toSec = lengthSec } of reeds) {
    const at = typeof midi === 'number' ? () => midi : midi;
    const count = Math.floor(TOP_HZ / midiToHz(at(0)));
    const amplitude = Array.from(
      { length: count },
      (_, k) => 10 ** ((-slopeDbPerOctave * Math.log2(k + 1)) / 20),
    );
    const rms = Math.sqrt(amplitude.reduce((sum, value) => sum + value * value, 0) / 2);
    const gain = (0.1 * 10 ** (levelDb / 20)) / rms;
    const phase = amplitude.map(() => 2 * Math.PI * rng.next());
    let turn = 0;
    for (let n = 0; n < data.length; n++) {
      turn += (2 * Math.PI * midiToHz(at(n / RATE))) / RATE;
      const sec = n / RATE;
      if (sec < fromSec || sec > toSec) continue;
      const edge = Math.min(1, (sec - fromSec) / 0.03, (toSec - sec) / 0.03);
      let sum = 0;
      for (let k = 0; k < count; k++) sum += amplitude[k] * Math.cos((k + 1) * turn + phase[k]);
      data[n] += gain * edge * sum;
    }
  }
  if (noiseDb !== undefined) {
    const size = 0.1 * 10 ** ((reeds[0].levelDb + noiseDb) / 20);
    for (let n = 0; n < data.length; n++) data[n] += size * rng.normal();
  }
  return Samples.from(data, RATE);
}

/** The event of a note whose pitch is known, as the analysis would find it. */
export function eventOf(
  midi: number | ((sec: number) => number),
  fromSec: number,
  toSec: number,
  changes: Partial<SoundEvent> = {},
): SoundEvent {
  const at = typeof midi === 'number' ? () => midi : midi;
  const steps = Math.floor((toSec - fromSec) / CONTOUR_STEP_SEC);
  const contourMidi = Float32Array.from({ length: steps }, (_, i) =>
    at(fromSec + (i + 0.5) * CONTOUR_STEP_SEC),
  );
  const heldSec = [fromSec + 0.07, toSec - 0.03] as const;
  const held = contourMidi.filter((_, i) => {
    const sec = fromSec + (i + 0.5) * CONTOUR_STEP_SEC;
    return sec >= heldSec[0] && sec <= heldSec[1];
  });
  const mean = held.reduce((sum, value) => sum + value, 0) / held.length;
  return {
    onsetSec: fromSec,
    offsetSec: toSec,
    start: 'silence',
    midi: mean,
    f0Hz: midiToHz(mean),
    expectedMidi: Math.round(mean),
    contourMidi,
    heldSec,
    levelDb: -20,
    harmonicityDb: 25,
    dipDb: 0,
    strength: 1,
    soundingNats: 5,
    onsetNats: 2,
    partialsDb: new Float32Array(),
    ...changes,
  };
}

export const harp = (spec: Partial<HarpSpec> = {}): PlayableNote[] =>
  playableNotes({ key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440, ...spec });

/** A note of a harp by hole, breath and bend. */
export function noteOf(
  notes: readonly PlayableNote[],
  hole: number,
  breath: 'blow' | 'draw',
  bend = 0,
): PlayableNote {
  return notes.find((n) => n.hole === hole && n.breath === breath && n.bend === bend && !n.over)!;
}

export const sure = (note: PlayableNote): HoleReading[] => [{ note, probability: 1 }];

/** What each note shows of second reeds. */
export function sightsOf(
  samples: Samples,
  events: readonly SoundEvent[],
  readings: readonly HoleReading[][],
  notes: readonly PlayableNote[],
): ObservedNote[] {
  const observation = noteObserver(samples, events, readings, notes);
  return events.map((_, i) => observation(i));
}

/** The second reed of each note. */
export function reedsIn(...[samples, events, readings, notes]: Parameters<typeof sightsOf>): NoteReeds[] {
  return findReeds(sightsOf(samples, events, readings, notes), events, readings);
}

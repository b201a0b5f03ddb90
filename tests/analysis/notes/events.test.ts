import { describe, expect, it } from 'vitest';
import { resample } from '../../../samples/synth/dsp.ts';
import { seededRng } from '../../../samples/synth/rng.ts';
import { inRoom, withNoise } from '../../../samples/synth/scene/degrade.ts';
import type { PlayingStyle } from '../../../samples/synth/style.ts';
import type { TruthNote } from '../../../samples/synth/truth.ts';
import { segment } from '../../../src/analysis/notes/decoding/segment.ts';
import { CONTOUR_STEP_SEC, type SoundEvent } from '../../../src/analysis/notes/events.ts';
import { analyseFrames } from '../../../src/analysis/pitch/frames.ts';
import { Samples } from '../../../src/audio/samples.ts';
import { centsBetween, midiToHz } from '../../../src/units.ts';
import { eventsIn, listen, PLAIN, played, RATE } from '../listen.ts';
import { noPause, REED_SPECTRA, tone } from '../tones.ts';

/** Same notes in the same order, with onsets and ends at most this many ms off. */
function expectNotes(
  events: readonly SoundEvent[],
  truth: readonly TruthNote[],
  onsetMs: number,
  offsetMs: number,
): void {
  const names = (midis: readonly number[]): string => midis.map((midi) => midi.toFixed(0)).join(' ');
  expect(names(events.map(({ midi }) => midi))).toBe(names(truth.map(({ nominalMidi }) => nominalMidi)));
  events.forEach((event, i) => {
    expect(1000 * Math.abs(event.onsetSec - truth[i].onsetSec), `onset ${i}`).toBeLessThan(onsetMs);
    expect(1000 * Math.abs(event.offsetSec - truth[i].offsetSec), `end ${i}`).toBeLessThan(offsetMs);
  });
}

const starts = (events: readonly SoundEvent[]): string => events.map(({ start }) => start).join(' ');

/** Usual, lowest and highest register. */
const PLAYERS = [
  ['C', 3],
  ['low F', 5],
  ['high G', 4],
] as const;

describe.each(PLAYERS)('clean playing on a %s harp (seed %d)', (key, seed) => {
  const hear = (tab: string, style: Partial<PlayingStyle> = {}) =>
    listen(tab, { ...PLAIN, ...style }, key, seed);

  it('after silence: onsets within 20 ms, ends within 30 ms', async () => {
    const { events, truth } = await hear('4:2 | -4:2 | 6:2 | -2:2 | 9:2', { phrasePauseSec: [0.4, 0.4] });
    expectNotes(events, truth, 20, 30);
    expect(starts(events)).toBe('silence silence silence silence silence');
  });

  it('at a change of breath: a dip, onsets within 20 ms', async () => {
    const { events, truth } = await hear('4 -4 5 -5 6 -6 4 -3 3 -2 1');
    expectNotes(events, truth, 20, 30);
    const changed = events.filter((_, i) => i > 0 && truth[i].start === 'breath');
    expect(changed.length).toBeGreaterThan(5);
    for (const { dipDb } of changed) expect(dipDb).toBeGreaterThan(5);
  });

  it('tongued repeats: one event each, onsets within 20 ms', async () => {
    const { events, truth } = await hear('4 4 4 -4 -4 -2 -2 -2 8 8');
    expectNotes(events, truth, 20, 30);
    events.forEach(({ start }, i) => {
      expect(start === 'rearticulation', `note ${i}`).toBe(truth[i].start === 'tongue');
    });
  });

  it('slurs: hardly any dip, onsets within 20 ms', async () => {
    const { events, truth } = await hear('4:2 ~5:2 ~6:2 | -4:2 ~-5:2 ~-6:2 | -1:2 ~-2:2', { tempoBpm: 80 });
    expectNotes(events, truth, 20, 30);
    const slurred = events.filter((_, i) => truth[i].start === 'slur');
    expect(slurred).toHaveLength(5);
    for (const { dipDb } of slurred) expect(dipDb).toBeLessThan(3);
  });

  it('jumps over holes: onsets within 20 ms', async () => {
    const { events, truth } = await hear('2:2 5:2 8:2 4:2 1:2 6:2');
    expectNotes(events, truth, 20, 30);
  });

  it('a gliding bend: one event per target, onsets within 20 ms of halfway', async () => {
    const { events, truth } = await hear(
      "-3:2 ~-3':2 ~-3'':2 ~-3''':2 ~-3:2 | -2:2 ~-2'':2 ~-2:2 | -4:2 ~-4':2 ~-4:2 | 8:2 ~8':2",
      { glideSec: [0.08, 0.14] },
    );
    expectNotes(events, truth, 20, 35);
    events.forEach(({ start }, i) => {
      expect(start === 'glide', `note ${i}`).toBe(truth[i].start === 'glide');
    });
  });

  it('a scoop into a note is one note, with its onset within 60 ms', async () => {
    const { events, truth } = await hear('-4:3 | 5:3 | -2:3 | -1:3', {
      scoopShare: 1,
      scoopCents: [60, 140],
      scoopSec: [0.1, 0.18],
    });
    expectNotes(events, truth, 20, 30);
    for (const { contourMidi, midi } of events) expect(contourMidi[1]).toBeLessThan(midi - 0.2);
  });

  it('deep vibrato (±55 cents) is one note', async () => {
    const { events, truth } = await hear('-4:4 | 5:4 | -2:4 | -6:4', {
      vibratoShare: 1,
      vibratoCents: [50, 60],
    });
    expectNotes(events, truth, 20, 30);
    for (const { contourMidi } of events) {
      expect(Math.max(...contourMidi) - Math.min(...contourMidi)).toBeGreaterThan(0.8);
    }
  });

  it('deep tremolo by hand (8 dB) is one note', async () => {
    const { events, truth } = await hear('-4:4 | 5:4 | -2:4 | -6:4', { tremoloShare: 1, tremoloDb: [7, 8] });
    expectNotes(events, truth, 20, 30);
  });

  it('held pitch within 2 cents of the mean pitch of the held part', async () => {
    const { events, truth } = await hear("4:2 -4:2 -3'':2 | -2:2 6:2 -6:2", {
      driftCentsPerSec: [-6, 6],
      vibratoShare: 0.5,
    });
    expect(events).toHaveLength(truth.length);
    events.forEach(({ f0Hz, midi }, i) => {
      expect(Math.abs(centsBetween(f0Hz, truth[i].f0Hz)), `note ${i}`).toBeLessThan(2);
      expect(midiToHz(midi)).toBeCloseTo(f0Hz, 6);
    });
  });
});

describe('rough conditions', () => {
  const tab = '4 -4 5 5 -5 6 | -6 -6 6 -5 5 -4 | 4:2';

  it('noise 20 dB below: the same notes', async () => {
    const take = played(tab, PLAIN);
    const noisy = withNoise(take.samples, 20, 'pink', seededRng(5));
    expectNotes(await eventsIn(noisy), take.truth.notes, 20, 30);
  });

  it('a room with 0.4 s of reverberation: the same notes, none added', async () => {
    const take = played(tab, PLAIN);
    const wet = inRoom(take.samples, RATE, { rt60Sec: 0.4, directToReverbDb: 6 }, seededRng(5));
    expectNotes(await eventsIn(wet), take.truth.notes, 20, 30);
  });

  it('at 8 and 16 kHz: the same notes', async () => {
    const take = played(tab, PLAIN);
    for (const factor of [3, 1.5]) {
      const events = await eventsIn(resample(take.samples, factor), 'C', RATE / factor);
      expectNotes(events, take.truth.notes, 20, 30);
    }
  });

  it('ten times softer: the same events', async () => {
    const take = played('4 -4 5 5 -5', PLAIN);
    const loud = await eventsIn(take.samples);
    const soft = await eventsIn(take.samples.map((v) => v * 0.1));
    expect(soft.map(({ onsetSec }) => onsetSec)).toEqual(loud.map(({ onsetSec }) => onsetSec));
    soft.forEach(({ levelDb }, i) => {
      expect(levelDb).toBeCloseTo(loud[i].levelDb - 20, 2);
    });
  });
});

describe('contents of an event', () => {
  it('level: RMS of a steady tone at 0.2 is -13.98 dB', async () => {
    const [event] = await eventsIn(framed(tone(392, REED_SPECTRA.falling, 1, RATE)));
    expect(event.levelDb).toBeCloseTo(20 * Math.log10(0.2), 1);
    expect(event.midi).toBeCloseTo(67, 1);
    expect(event.harmonicityDb).toBeGreaterThan(25);
  });

  it('events are in order, apart, inside the recording, with a contour every 10 ms', async () => {
    const { events } = await listen("4 -4 4 4 ~5 -3 ~-3'' | 2 -2 6 -6", PLAIN, 'C', 7);
    const take = played("4 -4 4 4 ~5 -3 ~-3'' | 2 -2 6 -6", PLAIN, 'C', 7);
    events.forEach((event, i) => {
      const lengthSec = event.offsetSec - event.onsetSec;
      expect(lengthSec).toBeGreaterThan(0);
      if (i > 0) expect(event.onsetSec).toBeGreaterThanOrEqual(events[i - 1].offsetSec);
      expect(Math.abs(event.contourMidi.length - lengthSec / CONTOUR_STEP_SEC)).toBeLessThan(1.01);
      expect(event.heldSec[0]).toBeGreaterThanOrEqual(event.onsetSec);
      expect(event.heldSec[1]).toBeLessThanOrEqual(event.offsetSec);
    });
    expect(events.at(-1)!.offsetSec).toBeLessThanOrEqual(take.samples.length / RATE);
  });

  it('silence has no events', async () => {
    expect(await eventsIn(new Float32Array(RATE))).toEqual([]);
    expect(await eventsIn(new Float32Array(1))).toEqual([]);
  });

  const framed = (data: Float32Array): Float32Array => {
    const out = new Float32Array(data.length + RATE);
    out.set(data, RATE / 2);
    return out;
  };
});

describe('decoding pitches', () => {
  const data = new Float32Array(RATE);
  data.set(tone(440, REED_SPECTRA.falling, 0.4, RATE), 0.1 * RATE);
  data.set(tone(493.88, REED_SPECTRA.falling, 0.4, RATE), 0.5 * RATE);
  const frames = analyseFrames(Samples.from(data, RATE), noPause);
  const free = (midi: number, cost = 0) => ({ midi, cost });

  it('finds two tones among the allowed pitches', async () => {
    const { hopSec } = await frames;
    const found = segment(await frames, [free(67), free(69), free(71), free(72)]);
    expect(found.map(({ midi }) => midi)).toEqual([69, 71]);
    expect(Math.abs(found[0].fromFrame * hopSec - 0.1)).toBeLessThan(0.04);
    expect(Math.abs(found[1].fromFrame * hopSec - 0.5)).toBeLessThan(0.04);
  });

  it('chooses the pitch that is cheaper to begin if two are equally close', async () => {
    const at = [free(68.9, 4), free(69.1), free(70.9), free(71.1, 4)];
    const found = segment(await frames, at);
    expect(found.map(({ midi }) => midi)).toEqual([69.1, 70.9]);
  });

  it('does not find pitches that did not sound', async () => {
    expect(segment(await frames, [free(60), free(64), free(76)])).toEqual([]);
  });
});

import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { STUDENT } from '../../../samples/synth/style.ts';
import { TUNES } from '../../../samples/tunes.ts';
import { segment } from '../../../src/analysis/notes/decoding/segment.ts';
import { findEvents } from '../../../src/analysis/notes/find-events.ts';
import { findShakes } from '../../../src/analysis/notes/find-shakes.ts';
import { harpGlides, harpPitches, reedSets } from '../../../src/analysis/notes/pitches.ts';
import { analyseFrames } from '../../../src/analysis/pitch/frames.ts';
import { PartialLevel } from '../../../src/analysis/pitch/partial-level.ts';
import { readRecording } from '../../../src/audio/read.ts';
import { Samples } from '../../../src/audio/samples.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import { transcribe } from '../../../src/pipeline.ts';
import { midiToHz } from '../../../src/units.ts';
import { PLAIN, played, RATE, richter } from '../listen.ts';
import { noPause, REED_SPECTRA, tone } from '../tones.ts';

async function heard(data: Float32Array) {
  const samples = Samples.from(data, RATE);
  const notes = playableNotes(richter('C'));
  const frames = await analyseFrames(samples, noPause);
  const sets = reedSets(notes);
  return findEvents(
    samples,
    frames,
    segment(frames, harpPitches(notes), sets),
    harpGlides(notes),
    sets,
    noPause,
  );
}

const FADE_SEC = 0.02;

/** 4 draw and 5 draw of a C harp alternating, each for this long; one begins as the other ends, or after a break. */
function inTurn(turnSec: number, turns: number, breakSec = 0): Float32Array {
  const data = new Float32Array(Math.round((turns * turnSec + 1) * RATE));
  for (let turn = 0; turn < turns; turn++) {
    const reed = tone(
      () => midiToHz(turn % 2 === 0 ? 74 : 77),
      REED_SPECTRA.falling,
      turnSec + FADE_SEC - breakSec,
      RATE,
    );
    const from = Math.round((0.5 + turn * turnSec) * RATE);
    reed.forEach((value, i) => {
      const edge = Math.min(1, i / (FADE_SEC * RATE), (reed.length - i) / (FADE_SEC * RATE));
      data[from + i] += edge * value;
    });
  }
  return data;
}

describe('shakes', () => {
  // Seven to sixteen notes a second: common practice, no source.
  it.each([0.14, 0.1, 0.08, 0.062])('with turns of %f s are one event with their rate', async (turnSec) => {
    const turns = Math.round(1.2 / turnSec);
    const events = await heard(inTurn(turnSec, turns));
    expect(events.map(({ set }) => set?.holes)).toEqual([[4, 5]]);
    const [{ set, onsetSec, offsetSec, notesPerSec }] = events;
    expect(set?.shake).toBe(true);
    expect(onsetSec).toBeGreaterThan(0.45);
    expect(onsetSec).toBeLessThan(0.55);
    expect(offsetSec - onsetSec).toBeGreaterThan(turns * turnSec - 0.1);
    expect(Math.abs((notesPerSec ?? 0) * turnSec - 1)).toBeLessThan(0.1);
  });

  it('are not made of six slow turns, a figure of slurred notes', async () => {
    const events = await heard(inTurn(0.14, 6));
    expect(events.map(({ set }) => set)).toEqual(Array<undefined>(6).fill(undefined));
  });

  it('are not made of equally fast alternating notes with breaks between them', async () => {
    const events = await heard(inTurn(0.12, 10, 0.035));
    expect(events.filter(({ set }) => set?.shake === true)).toEqual([]);
  });

  it('tongued turns heard as a pair are split into notes, and their neighbours stay', async () => {
    const samples = Samples.from(inTurn(0.12, 10, 0.045), RATE);
    const frames = await analyseFrames(samples, noPause);
    const sets = reedSets(playableNotes(richter('C')));
    const held = { rearticulated: false, glide: false };
    const pair = {
      midi: 74,
      fromTick: 100,
      toTick: 340,
      set: { midis: [74, 77], holes: [4, 5], shake: false },
      ...held,
    };
    const before = { midi: 72, fromTick: 20, toTick: 95, ...held };
    const shakes = sets.filter(({ shake }) => shake);
    const [first, ...notes] = findShakes(new PartialLevel(samples), frames, [before, pair], shakes);
    expect(first).toEqual(before);
    expect(notes.map(({ midi }) => Math.round(midi))).toEqual([74, 77, 74, 77, 74, 77, 74, 77, 74, 77]);
    notes.forEach(({ fromTick, set }, i) => {
      expect(set).toBeUndefined();
      expect(Math.abs(fromTick - (100 + 24 * i))).toBeLessThanOrEqual(6);
    });
  });

  it('begin after a note that was held and end with their last turn, whatever reed sounds on', async () => {
    const data = inTurn(0.1, 12);
    const held = (fromSec: number, sec: number): void =>
      tone(() => midiToHz(77), REED_SPECTRA.falling, sec, RATE).forEach((value, i) => {
        data[Math.round(fromSec * RATE) + i] += value;
      });
    held(0.1, 0.41);
    held(1.74, 0.4);
    const samples = Samples.from(data, RATE);
    const frames = await analyseFrames(samples, noPause);
    const plain = { rearticulated: false, glide: false };
    const stretches = [
      { midi: 77, fromTick: 20, toTick: 100, ...plain },
      {
        midi: 74,
        fromTick: 100,
        toTick: 320,
        set: { midis: [74, 77], holes: [4, 5], breath: 'draw' as const, shake: false },
        ...plain,
      },
      { midi: 77, fromTick: 320, toTick: 347, ...plain },
      { midi: 77, fromTick: 347, toTick: 428, ...plain, rearticulated: true },
    ];
    const shakes = reedSets(playableNotes(richter('C'))).filter(({ shake }) => shake);
    const found = findShakes(new PartialLevel(samples), frames, stretches, shakes);
    expect(found.map(({ fromTick, toTick, set }) => [fromTick, toTick, set?.shake ?? false])).toEqual([
      [20, 100, false],
      [100, 347, true],
      [347, 428, false],
    ]);
  });

  it('are not made of slow turns', async () => {
    const events = await heard(inTurn(0.2, 8));
    expect(events.map(({ set }) => set)).toEqual(Array.from({ length: 8 }, () => undefined));
  });

  it('leave what comes before and after as it is', async () => {
    const data = new Float32Array(4 * RATE);
    data.set(
      tone(() => midiToHz(72), REED_SPECTRA.falling, 0.5, RATE),
      Math.round(0.3 * RATE),
    );
    data.set(inTurn(0.08, 12), Math.round(0.8 * RATE));
    data.set(
      tone(() => midiToHz(72), REED_SPECTRA.falling, 0.5, RATE),
      Math.round(3.2 * RATE),
    );
    const events = await heard(data);
    expect(events.map(({ set, midi }) => set?.holes ?? Math.round(midi))).toEqual([72, [4, 5], 72]);
  });

  it('are not made of four turns', async () => {
    const events = await heard(inTurn(0.1, 4));
    expect(events.map(({ set }) => set)).toEqual([undefined, undefined, undefined, undefined]);
  });

  it('are not made of a held note and a reed that leaks in a room', async () => {
    const { samples } = await readRecording(
      fileURLToPath(new URL('../../../samples/homework-kitchen.wav', import.meta.url)),
    );
    const { notes } = await transcribe(samples, { harp: 'C' });
    expect(notes.filter(({ ornament }) => ornament?.kind === 'shake')).toEqual([]);
  });

  it('are not made of a held note whose tremolo makes a leaking reed swing too, and it is not cut into turns', async () => {
    const take = played(TUNES['amazing-grace'], STUDENT, 'C', 1012);
    const { notes } = await transcribe(Samples.from(take.samples, RATE), { harp: 'C' });
    expect(notes.length).toBe(take.truth.notes.length);
    expect(notes.filter(({ ornament }) => ornament?.kind === 'shake')).toEqual([]);
  });

  it('are not made of a tongued run at that speed', async () => {
    const take = played(
      '5:0.25 5:0.25 5:0.25 5:0.25 4:0.25 4:0.25 4:0.25 4:0.25 5:0.25 5:0.25 6:0.25 6:0.25',
      PLAIN,
    ).samples;
    expect((await heard(take)).filter(({ set }) => set?.shake === true)).toEqual([]);
  });
});

import { describe, expect, it } from 'vitest';
import { CLEAN } from '../../../samples/synth/style.ts';
import { synthesise } from '../../../samples/synth/take.ts';
import { Samples } from '../../../src/audio/samples.ts';
import { findHeld } from '../../../src/measure/held.ts';
import { findOrnaments } from '../../../src/measure/ornaments/ornaments.ts';
import { transcribe } from '../../../src/pipeline.ts';
import type { NoteOrnament } from '../../../src/tab/ornament.ts';
import { ornamentsOf } from '../../../src/tab/ornament.ts';
import { eventOf } from '../sounds.ts';

const told = (midi: number | ((sec: number) => number), lengthSec: number): NoteOrnament[] => {
  const event = eventOf(midi, 0, lengthSec);
  return findOrnaments(event, undefined, findHeld(event), null);
};

describe('ornaments by pitch', () => {
  it('a steady note has none', () => {
    expect(told(70, 1.5)).toEqual([]);
  });

  it('a slide of a semitone into the note is a scoop, with its start and length', () => {
    const [scoop, ...others] = told((sec) => 70 - Math.max(0, 1 - sec / 0.16), 0.9);
    expect(others).toEqual([]);
    expect(scoop).toMatchObject({ kind: 'scoop' });
    if (scoop.kind !== 'scoop') return;
    expect(Math.abs(scoop.fromCents + 95)).toBeLessThan(15);
    expect(Math.abs(scoop.durationSec - 0.14)).toBeLessThan(0.04);
  });

  it('a reed that starts low for 22 ms is not a scoop', () => {
    expect(told((sec) => 70 - 0.4 * Math.exp(-sec / 0.022), 0.9)).toEqual([]);
  });

  it('a slide down at the end is a fall', () => {
    const [fall] = told((sec) => 70 - 1.5 * Math.max(0, (sec - 0.8) / 0.2), 1);
    expect(fall).toMatchObject({ kind: 'fall' });
    if (fall.kind !== 'fall') return;
    expect(Math.abs(fall.toCents + 150)).toBeLessThan(20);
    expect(Math.abs(fall.durationSec - 0.18)).toBeLessThan(0.04);
  });

  it('scoop, vibrato and fall of one note are reported in order', () => {
    const pitch = (sec: number): number =>
      70 -
      0.9 * Math.max(0, 1 - sec / 0.15) +
      (sec > 0.3 && sec < 1.5 ? 0.3 * Math.sin(2 * Math.PI * 5 * sec) : 0) -
      1.2 * Math.max(0, (sec - 1.6) / 0.2);
    expect(told(pitch, 1.8).map(({ kind }) => kind)).toEqual(['scoop', 'vibrato', 'fall']);
  });
});

describe('ornaments in the sound', () => {
  const heard = async (tab: string) => {
    const { samples, sampleRate } = synthesise({
      name: 't',
      category: 'test',
      harp: { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 },
      tab,
      style: { ...CLEAN, vibratoShare: 0, tremoloShare: 0, scoopShare: 0 },
      seed: 7,
    });
    const { notes } = await transcribe(Samples.from(samples, sampleRate), { harp: 'C' });
    return notes.map((note) => ornamentsOf(note).map(({ kind }) => kind));
  };

  it('each kind is detected, and none on plain notes', async () => {
    expect(await heard('4:2 /-4:2 -4~:3 5^:3 r:1 -5*:4 5:2 -3\\:2 r:1 -5:2')).toEqual([
      [],
      ['scoop'],
      ['vibrato'],
      ['tremolo'],
      ['hand'],
      [],
      ['fall'],
      [],
    ]);
  });
});

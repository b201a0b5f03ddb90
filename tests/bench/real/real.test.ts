import { readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { midiToHz } from '../../../src/units.ts';
import type { EstimatedNote } from '../scores/measure.ts';
import { clipsIn, loadRealLabels, type RealEvent } from './real-labels.ts';
import { addReal, type HeardEvent, heardEvents, scoreReal } from './real-score.ts';

const LABELS = fileURLToPath(new URL('../../real', import.meta.url));

const event = (onsetSec: number, sounding: number[], more: Partial<RealEvent> = {}): RealEvent => ({
  onsetSec,
  offsetSec: onsetSec + 0.4,
  f0Hz: midiToHz(sounding[0], 440),
  nominalMidi: sounding[0],
  sounding,
  kind: sounding.length > 1 ? 'together' : 'single',
  sure: true,
  ...more,
});
const heard = (onsetSec: number, ...midis: number[]): HeardEvent => ({
  onsetSec,
  offsetSec: onsetSec + 0.4,
  pitchesHz: midis.map((midi) => midiToHz(midi, 440)),
});
const of = (events: RealEvent[], ...notes: HeardEvent[]) => scoreReal(events, notes, 10);

describe('scores on recordings of players', () => {
  const events = [event(1, [72]), event(2, [64, 67]), event(3, [76])];

  it('are full where pitches, sets and onsets are right', () => {
    const score = of(events, heard(1.04, 72), heard(2, 67, 64), heard(3, 76));
    expect(score.single).toEqual({ matched: 2, reference: 2, estimated: 2 });
    expect(score.several).toEqual({ matched: 1, reference: 1, estimated: 1 });
    expect(score.nobody.count).toBe(0);
  });

  it('require the whole set, but count the melody note too', () => {
    const score = of(events, heard(2, 64), heard(3, 76, 79));
    expect(score.event.matched).toBe(0);
    expect(score.melody).toEqual({ matched: 2, reference: 3, estimated: 2 });
    expect(score.nobody.count).toBe(0);
  });

  it('count late, split-off and wrongly pitched notes as extra', () => {
    const score = of(events, heard(1.06, 72), heard(2, 64, 67), heard(2.2, 64), heard(3, 77));
    expect(score.nobody.count).toBe(3);
    expect(score.nobody.sec).toBeCloseTo(1.2, 6);
    expect(score.longestMissed).toBe(1);
    expect(of(events).longestMissed).toBe(3);
  });

  it('follow a harp that is off concert pitch, and a soft onset', () => {
    const sharp = 2 ** (40 / 1200);
    const soft = event(2, [64, 67], { f0Hz: midiToHz(64, 440) * sharp, onsetTolSec: 0.08 });
    const chord = heard(2.07, 64, 67);
    expect(of([soft], { ...chord, pitchesHz: chord.pitchesHz.map((hz) => hz * sharp) }).event.matched).toBe(
      1,
    );
    expect(of([soft], { ...chord, pitchesHz: chord.pitchesHz.map((hz) => hz / sharp) }).event.matched).toBe(
      0,
    );
  });

  it('leave out what the label marks as unsure', () => {
    const unsure = event(2, [64], { sure: false });
    const score = of(
      [event(1, [72], { maybe: [76] }), unsure],
      heard(1, 72, 76),
      heard(2.1, 71),
      heard(1.2, 76),
    );
    expect(score.event).toEqual({ matched: 1, reference: 1, estimated: 1 });
    expect(score.nobody.count).toBe(0);
  });

  it('do not count the turns of a shake as notes', () => {
    const shake = event(1, [71, 74], { kind: 'shake', offsetSec: 2 });
    expect(of([shake], heard(1, 71, 74), heard(1.2, 71), heard(1.3, 74)).nobody.count).toBe(0);
    expect(of([shake], heard(1, 71), heard(1.3, 72)).nobody.count).toBe(1);
  });

  it('add up over clips', () => {
    const one = of(events, heard(1, 72));
    const both = addReal([one, of(events)]);
    expect(both.clips).toBe(2);
    expect(both.event).toEqual({ matched: 1, reference: 6, estimated: 1 });
    expect(both.longestMissed).toBe(3);
  });

  it('read the holes of a take by its own harp', () => {
    const note: EstimatedNote = {
      onsetSec: 0,
      offsetSec: 1,
      f0Hz: 395,
      hole: 3,
      breath: 'blow',
      bend: 0,
      over: false,
      confidence: 1,
      leak: null,
      holes: [2, 3, 4],
    };
    const harp = { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 };
    const [{ pitchesHz }] = heardEvents([note], harp);
    const cents = pitchesHz.slice(1).map((hz) => Math.round(1200 * Math.log2(hz / 395)));
    expect(cents).toEqual([-300, 500]);
    expect(heardEvents([note], null)[0].pitchesHz).toEqual([395]);
  });
});

describe('the labels of real recordings', () => {
  const labels = loadRealLabels(LABELS);

  it('are in order and say where the recording comes from', () => {
    expect(labels.length).toBe(readdirSync(LABELS).filter((name) => name.endsWith('.json')).length);
    for (const { source, audio, player, use, notes } of labels) {
      expect(source, audio).toMatch(/ @\S+ \S|Debian/);
      expect(player, audio).not.toBe('');
      expect(['develop', 'report'], audio).toContain(use);
      for (const [i, note] of notes.entries()) {
        expect(note.offsetSec, `${audio} ${note.onsetSec}`).toBeGreaterThan(note.onsetSec);
        expect(note.onsetSec, audio).toBeGreaterThanOrEqual(notes[i - 1]?.onsetSec ?? 0);
        expect(note.sounding, `${audio} ${note.onsetSec}`).toContain(note.nominalMidi);
        expect(note.kind === 'single', `${audio} ${note.onsetSec}`).toBe(note.sounding.length === 1);
      }
    }
  });

  it('keep all clips of a player in the same half', () => {
    const half = new Map<string, string>();
    for (const { player, use } of labels) half.set(player, use);
    for (const { player, use } of labels) expect(half.get(player), player).toBe(use);
  });

  it('are found by the name of the recording, whatever its extension', () => {
    const here = fileURLToPath(new URL('../../../samples', import.meta.url));
    expect(clipsIn([here], labels)).toEqual([]);
    const wav = readdirSync(here).find((name) => name.endsWith('.wav')) ?? '';
    const label = { ...labels[0], audio: wav.replace('.wav', '.mp3') };
    expect(clipsIn([here], [label]).map(({ path }) => path.endsWith(wav))).toEqual([true]);
  });
});

import { describe, expect, it } from 'vitest';
import { segment } from '../../../src/analysis/notes/decoding/segment.ts';
import { harpGlides, harpPitches } from '../../../src/analysis/notes/pitches.ts';
import { placeOnsets } from '../../../src/analysis/notes/place-onsets.ts';
import { analyseFrames } from '../../../src/analysis/pitch/frames.ts';
import { PartialLevel } from '../../../src/analysis/pitch/partial-level.ts';
import { Samples } from '../../../src/audio/samples.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import { midiToHz } from '../../../src/units.ts';
import { RATE, richter } from '../listen.ts';
import { noPause, REED_SPECTRA, tone } from '../tones.ts';

/** Pitches placed in a tone on a C harp whose pitch goes through [seconds, MIDI number] in straight lines. */
async function placedIn(way: readonly (readonly [number, number])[]): Promise<number[]> {
  const midiAt = (sec: number): number => {
    const i = Math.max(
      1,
      way.findIndex(([at]) => at >= sec),
    );
    const [[fromSec, from], [toSec, to]] = [way[i - 1], way[i]];
    return from + ((to - from) * (sec - fromSec)) / (toSec - fromSec);
  };
  const lengthSec = way[way.length - 1][0];
  const data = new Float32Array((lengthSec + 0.6) * RATE);
  data.set(
    tone((sec) => midiToHz(midiAt(Math.min(sec, lengthSec - 1e-6))), REED_SPECTRA.falling, lengthSec, RATE),
    0.3 * RATE,
  );
  const samples = Samples.from(data, RATE);
  const frames = await analyseFrames(samples, noPause);
  const notes = playableNotes(richter('C'));
  const placed = placeOnsets(
    frames,
    new PartialLevel(samples),
    segment(frames, harpPitches(notes)),
    harpGlides(notes),
  );
  return placed.map(({ midi }) => Math.round(midi));
}

describe('a lower pitch that leads into a note', () => {
  it('is a scoop if it never rests', async () => {
    expect(
      await placedIn([
        [0, 60],
        [0.16, 61.9],
        [0.2, 62],
        [0.6, 62],
      ]),
    ).toEqual([62]);
  });

  it('is a note of its own if it rests, even if it drifted up to its pitch', async () => {
    expect(
      await placedIn([
        [0, 59.4],
        [0.09, 59.6],
        [0.13, 60],
        [0.23, 60],
        [0.29, 62],
        [0.6, 62],
      ]),
    ).toEqual([60, 62]);
  });

  it('is a note of its own, however short, if no reed that gives the note can sound so low', async () => {
    // 4 draw, 4 blow for 90 ms, 4 draw: 4 draw bends by a semitone only, 4 blow is two below.
    expect(
      await placedIn([
        [0, 74],
        [0.22, 74],
        [0.23, 72],
        [0.31, 72],
        [0.32, 74],
        [0.6, 74],
      ]),
    ).toEqual([74, 72, 74]);
  });
});

describe('the pitches of a harp', () => {
  it('can be slid into from as far below as their reed bends', () => {
    const pitches = harpPitches(playableNotes(richter('C')));
    const below = (midi: number) => pitches.find((pitch) => Math.abs(pitch.midi - midi) < 0.1)?.slidesFrom;
    // 4 blow, 4 draw, 2 draw (3 blow has its pitch), 3 draw: a draw reed bends to a semitone above the blow reed of its hole.
    expect([72, 74, 67, 71].map(below)).toEqual(
      [0, 1, 2, 3].map((semitones) => expect.closeTo(semitones, 6)),
    );
  });
});

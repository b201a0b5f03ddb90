import { describe, expect, it } from 'vitest';
import { seededRng } from '../../../samples/synth/rng.ts';
import { CLEAN } from '../../../samples/synth/style.ts';
import { parseTune } from '../../../samples/synth/tune.ts';
import { LATER_SONGS } from './later-songs.ts';
import { heldNotes, linesOf, perform } from './perform.ts';
import { PROOF_SONGS } from './proof-songs.ts';
import { SONGS } from './songs.ts';

const ALL = [...SONGS, ...PROOF_SONGS, ...LATER_SONGS];

describe('the songs of the bench', () => {
  it.each(ALL.map((song) => [song.name, song] as const))(
    '%s: every line has a note for each syllable',
    (_, song) => {
      for (const { tune, words } of linesOf(song, [1, 2, 3])) {
        expect([words, parseTune(tune).length]).toEqual([words, heldNotes(words).length]);
      }
      if (song.variation !== undefined) {
        const { line, stacked } = song.variation;
        expect(heldNotes(stacked)).toHaveLength(parseTune(song.verse[line - 1]).length);
      }
    },
  );

  it.each(ALL.map((song) => [song.name, song] as const))('%s: verses are whole bars', (_, song) => {
    const beats = linesOf(song, [1])
      .flatMap(({ tune }) => parseTune(tune))
      .reduce((sum, note) => sum + (note.kind === 'note' ? note.beats : 0), 0);
    expect(((beats * song.metre.unit) / 4) % song.metre.count).toBeCloseTo(0);
  });

  it('plays notes in order that do not overlap', () => {
    const harp = { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 };
    for (const song of ALL) {
      const { plan, atBeats } = perform(song, linesOf(song, [1, 2, 3]), harp, CLEAN, seededRng(1));
      expect(atBeats).toHaveLength(plan.length);
      plan.slice(1).forEach((note, i) => {
        expect(note.beginSec).toBeGreaterThanOrEqual(plan[i].endSec - 1e-9);
      });
    }
  });
});

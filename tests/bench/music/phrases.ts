/**
 * Phrases as found from the notes, against the lines of the songs that were played (songs/songs.ts, with rubato and breaths):
 *   npx tsx tests/bench/music/phrases.ts [--seeds N]
 * A boundary is right when a line begins on that very note. Detached: every note lasts a half of its step at most, as
 * beginners play; slurred: the breaths within and after lines are gone, so that only long notes and repeats tell.
 */
import { parseArgs } from 'node:util';
import { findPhrases } from '../../../src/music/phrases.ts';
import { addTallies, scoreOf, type Tally } from '../scores/metrics.ts';
import { textTable } from '../scores/table.ts';
import { plannedTakes } from '../songs/takes.ts';

interface PlayedNote {
  readonly onsetSec: number;
  readonly offsetSec: number;
}

const AS: Readonly<Record<string, (note: PlayedNote, nextSec: number) => number>> = {
  'as played': (note) => note.offsetSec,
  detached: (note, nextSec) => Math.min(note.offsetSec, (note.onsetSec + nextSec) / 2),
  slurred: (_, nextSec) => nextSec,
};

const { values } = parseArgs({ options: { seeds: { type: 'string', default: '2' } } });
const rows = new Map<string, { tallies: Tally[]; single: number; found: number; lines: number }>();
for (const { take, performance } of plannedTakes(Number(values.seeds))) {
  const truth = new Set(performance.lines.map(({ firstNote }) => firstNote).filter((first) => first > 0));
  for (const [name, endOf] of Object.entries(AS)) {
    const notes = take.notes.map((note, i) => ({
      onsetSec: note.onsetSec,
      offsetSec: endOf(note, take.notes[i + 1]?.onsetSec ?? note.offsetSec),
    }));
    const phrases = findPhrases(notes);
    const found = phrases.map(({ firstNote }) => firstNote).filter((first) => first > 0);
    const row = rows.get(name) ?? { tallies: [], single: 0, found: 0, lines: 0 };
    row.tallies.push({
      matched: found.filter((first) => truth.has(first)).length,
      reference: truth.size,
      estimated: found.length,
    });
    row.single += phrases.filter(({ firstNote, lastNote }) => firstNote === lastNote).length;
    row.found += phrases.length;
    row.lines += performance.lines.length;
    rows.set(name, row);
  }
}
console.log(
  textTable([
    ['notes', 'takes', 'lines', 'phrases', 'of one note', 'precision', 'recall', 'F1'],
    ...[...rows].map(([name, { tallies, single, found, lines }]) => {
      const { precision, recall, f1 } = scoreOf(addTallies(tallies));
      const counts = [tallies.length, lines, found, single].map(String);
      return [name, ...counts, ...[precision, recall, f1].map((value) => value.toFixed(3))];
    }),
  ]),
);

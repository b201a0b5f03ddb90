import { spawnSync } from 'node:child_process';
import { buildBars } from '../../../src/export/notation/bars.ts';
import type { Score } from '../../../src/export/score.ts';
import { printedTab } from '../../../src/export/sheet/system-block.ts';
import { TICKS_PER_BEAT } from '../../../src/music/rhythm/metre.ts';

/** What music21 reads of a MusicXML file, ties joined, times in quarter notes. */
interface Reading {
  readonly notes: readonly {
    readonly midis: readonly number[];
    readonly onset: number;
    readonly length: number;
    /** By line of lyrics, from 1: the syllable, and where in its word it stands. */
    readonly lyrics: Readonly<Record<string, readonly [text: string, syllabic: string]>>;
  }[];
  /** By bar: what music21 counts in it. */
  readonly bars: readonly number[];
  readonly metre: string | null;
  readonly fifths: number;
}

const SCRIPT = `
import json, sys
from music21 import converter
part = converter.parse(sys.argv[1]).parts[0]
bars = [float(m.duration.quarterLength) for m in part.getElementsByClass('Measure')]
first = part.recurse().getElementsByClass('TimeSignature').first()
key = part.recurse().getElementsByClass('KeySignature').first()
notes = []
whole = part.stripTies()
for n in whole.recurse().notes:
    lyrics = {str(l.number): [l.text, l.syllabic or 'single'] for l in n.lyrics if l.text}
    notes.append(dict(midis=sorted(p.midi for p in n.pitches), onset=float(n.getOffsetInHierarchy(whole)),
                      length=float(n.duration.quarterLength), lyrics=lyrics))
print(json.dumps(dict(notes=notes, bars=bars, metre=first.ratioString if first else None, fifths=key.sharps)))
`;

/**
 * Compares every note, length, bar and syllable that music21 reads with the music that was written; returns the
 * differences in a few words.
 */
export function compareWithMusic21(python: string, file: string, score: Score): string {
  const { status, stdout, stderr } = spawnSync(python, ['-c', SCRIPT, file], { encoding: 'utf8' });
  if (status !== 0) return `not read: ${stderr.trim().split('\n').at(-1)}`;
  const read = JSON.parse(stdout) as Reading;
  const faults: string[] = [];
  const tell = (what: string, wrong: number, of: number) => {
    if (wrong > 0) faults.push(`${wrong} of ${of} ${what} differ`);
  };
  if (read.notes.length !== score.notes.length)
    return `${read.notes.length} notes, ${score.notes.length} written`;
  const start = score.notes[0].atTicks;
  const from = read.notes[0].onset;
  const off = (i: number, of: 'onset' | 'length') => {
    const { atTicks, lengthTicks } = score.notes[i];
    const wanted = (of === 'onset' ? atTicks - start : lengthTicks) / TICKS_PER_BEAT;
    return Math.abs((of === 'onset' ? read.notes[i].onset - from : read.notes[i].length) - wanted) > 0.001;
  };
  const count = (wrong: (i: number) => boolean) => score.notes.filter((_, i) => wrong(i)).length;
  const all = score.notes.length;
  tell(
    'pitches',
    count((i) => `${read.notes[i].midis}` !== `${score.notes[i].midis}`),
    all,
  );
  tell(
    'places',
    count((i) => off(i, 'onset')),
    all,
  );
  tell(
    'lengths',
    count((i) => off(i, 'length')),
    all,
  );
  tell(
    'tabs',
    count((i) => read.notes[i].lyrics['1']?.[0] !== printedTab(score.notes[i], 'signs')),
    all,
  );
  let syllables = 0;
  let wrong = 0;
  for (const [i, { sung }] of score.notes.entries()) {
    for (const [verse, syllable] of sung.entries()) {
      const there = read.notes[i].lyrics[String(verse + 2)];
      if (syllable?.kind === 'begin') {
        syllables++;
        if (there?.[0] !== syllable.text || there[1] !== syllable.syllabic) wrong++;
      } else if (there !== undefined) wrong++;
    }
  }
  tell('syllables', wrong, syllables);
  const bars = buildBars(score);
  if (bars.length !== read.bars.length) faults.push(`${read.bars.length} bars, ${bars.length} written`);
  else
    tell(
      'bars',
      bars.filter(({ ticks }, i) => Math.abs(read.bars[i] - ticks / TICKS_PER_BEAT) > 0.001).length,
      bars.length,
    );
  const { metre } = score.beats;
  if (metre !== null && read.metre !== `${metre.count}/${metre.unit}`) faults.push(`metre ${read.metre}`);
  if (read.fifths !== score.fifths) faults.push(`${read.fifths} sharps`);
  return faults.length === 0 ? 'same' : faults.join(', ');
}

import { describe, expect, it } from 'vitest';
import { TUNES, type TuneName } from '../../samples/tunes.ts';
import { writeAbc } from '../../src/export/abc.ts';
import { writeMidiFile } from '../../src/export/midi.ts';
import { writeMusicXml } from '../../src/export/musicxml/musicxml.ts';
import { buildScore, type Score } from '../../src/export/score.ts';
import { writeTab } from '../../src/export/tab.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import { readAbc } from '../../src/music/reading/abc/abc.ts';
import { readMidi } from '../../src/music/reading/midi.ts';
import { readMusicXml } from '../../src/music/reading/musicxml/musicxml.ts';
import { melodyFromTab } from '../../src/music/reading/tab.ts';
import { parseTab } from '../../src/tab/text-file.ts';
import { notesOfMidi, type ReadNote, readWithAbcjs, readWithVerovio, schemaErrors } from './readers.ts';
import { AMAZING_GRACE, playTune, withWords } from './tunes.ts';

const bytes = (text: string) => new TextEncoder().encode(text);

/** The notes as written, in quarter notes from the first one. */
function written({ notes }: Score): ReadNote[] {
  return notes.map(({ midi, atTicks, lengthTicks }) => ({
    midi,
    onset: (atTicks - notes[0].atTicks) / 12,
    length: lengthTicks / 12,
  }));
}

/** From the first note, onsets to a hundredth of a beat, lengths to a 24th: verovio sounds notes a little shorter. */
function fromFirst(notes: readonly ReadNote[], lengths = true) {
  return notes.map(({ midi, onset, length }) => ({
    midi,
    onset: Number((onset - notes[0].onset).toFixed(2)) + 0,
    ...(lengths ? { length: Math.round(24 * length) / 24 } : {}),
  }));
}

const names = Object.keys(TUNES) as TuneName[];
const scores = new Map(names.map((name) => [name, buildScore(playTune(name).take, name)]));
const sung = buildScore(withWords(playTune('amazing-grace').take, AMAZING_GRACE), 'Amazing Grace');

describe('names of sections', () => {
  const { take } = playTune('amazing-grace');
  const [first] = take.phrases;
  const halves = [first.firstNote, Math.floor((first.firstNote + take.notes.length) / 2)];
  const phrases = halves.map((firstNote, i) => ({
    firstNote,
    lastNote: i === 0 ? halves[1] - 1 : take.notes.length - 1,
    name: ['verse 1', 'bridge [low]'][i],
  }));
  const score = buildScore({ ...take, phrases }, 'Sections');

  it('are rehearsal marks in schema-valid MusicXML', () => {
    const xml = writeMusicXml(score, { style: 'signs' });
    expect(schemaErrors(xml)).toEqual([]);
    expect([...xml.matchAll(/<rehearsal>(.*)<\/rehearsal>/g)].map(([, name]) => name)).toEqual([
      'verse 1',
      'bridge [low]',
    ]);
  });

  it('are parts in ABC, and no note is lost to abcjs or to Reedtrace', () => {
    const abc = writeAbc(score, { style: 'signs' });
    expect([...abc.matchAll(/\[P:(.*?)\]/g)].map(([, name]) => name)).toEqual(['verse 1', 'bridge low']);
    expect(readWithAbcjs(abc).notes.map(({ midi }) => midi)).toEqual(score.notes.map(({ midi }) => midi));
    expect(readAbc(bytes(abc), 'sections').notes).toHaveLength(score.notes.length);
  });
});

describe('known scores', () => {
  // The score of each tune is the table in samples/tunes.ts: values in beats, pitches by hole.
  it.each(names)('%s: all pitches and nearly all note values are right', (name) => {
    const { beats, midi } = playTune(name);
    const score = scores.get(name)!;
    expect(score.notes.map((note) => note.midi)).toEqual(midi);
    const right = score.notes.filter((note, i) => note.lengthTicks === 12 * beats[i]).length;
    // The target for steady playing
    expect(right / beats.length).toBeGreaterThanOrEqual(0.95);
  });

  // Common practice, no source: this tune is in 3/4 and begins with a pick-up of one beat.
  it('Amazing Grace is in 3/4 with a pick-up', () => {
    expect(sung.beats.metre).toEqual({ count: 3, unit: 4 });
    expect(sung.beats.pickupTicks).toBe(12);
    expect(sung.beats.tempoBpm).toBeCloseTo(96, 0);
    expect(sung.fifths).toBe(1);
  });
});

describe('MusicXML', () => {
  const xml = (score: Score) => writeMusicXml(score, { style: 'signs' });

  it.each(names)('%s: valid, and verovio reads the same notes without a warning', async (name) => {
    const score = scores.get(name)!;
    const text = xml(score);
    expect(schemaErrors(text)).toEqual([]);
    const read = await readWithVerovio(text);
    expect(read.log).toBe('');
    expect(fromFirst(read.notes)).toEqual(fromFirst(written(score)));
    const ours = readMusicXml(bytes(text), name);
    expect(ours.notes.map(({ midi, durationBeats }) => [midi, durationBeats])).toEqual(
      written(score).map(({ midi, length }) => [midi, length]),
    );
  });

  it('carries the tab, and syllables with their position in the word', async () => {
    const text = xml(sung);
    expect(schemaErrors(text)).toEqual([]);
    const { syllables, log } = await readWithVerovio(text);
    expect(log).toBe('');
    // MEI: s single, i initial, m middle, t terminal
    const isTab = ({ text }: { text: string }) => /^−?\d/.test(text);
    const words = syllables.filter((syllable) => !isTab(syllable));
    expect(words.filter((_, i) => i % 2 === 0).slice(0, 5)).toEqual([
      { text: 'A', wordpos: 'i' },
      { text: 'ma', wordpos: 'm' },
      { text: 'zing', wordpos: 't' },
      { text: 'grace,', wordpos: 's' },
      { text: 'how', wordpos: 's' },
    ]);
    expect(
      syllables
        .filter(isTab)
        .map((syllable) => syllable.text)
        .slice(0, 4),
    ).toEqual(['−1', '−2', '−3', '−2']);
    expect(text).toContain('<extend type="start"/>');
  });

  it('the check notices a broken document', () => {
    expect(schemaErrors(xml(sung).replace('<octave>4</octave>', '<octave>12</octave>'))).not.toEqual([]);
  });
});

describe('MIDI', () => {
  it.each(names)('%s: midi-file and our reader read it back', (name) => {
    const score = scores.get(name)!;
    const file = writeMidiFile(score, { asPlayed: false });
    expect(fromFirst(notesOfMidi(file))).toEqual(fromFirst(written(score)));
    expect(readMidi(file, name).notes.map(({ midi }) => midi)).toEqual(score.notes.map(({ midi }) => midi));
  });
});

describe('ABC', () => {
  const abc = (score: Score) => writeAbc(score, { style: 'signs' });

  it.each(names)('%s: abcjs reads the same notes and the tab without a warning', (name) => {
    const score = scores.get(name)!;
    const read = readWithAbcjs(abc(score));
    expect(read.warnings).toEqual([]);
    // abcjs plays every note a little short, so only where it begins is compared; our own reader has the lengths.
    expect(fromFirst(read.notes, false)).toEqual(fromFirst(written(score), false));
    const ours = readAbc(bytes(abc(score)), name);
    expect(ours.notes.map(({ midi, durationBeats }) => [midi, durationBeats])).toEqual(
      written(score).map(({ midi, length }) => [midi, length]),
    );
    expect(ours.metre).toEqual(score.beats.metre);
  });

  // ABC 2.1, 2.2.4 and 8.2: `%` begins a remark unless a backslash stands before it.
  it('carries characters that have a meaning in ABC', () => {
    const score = buildScore(
      withWords(playTune('saints').take, 'half-time 50% re-mem-ber'),
      '50% blues \\ slow',
    );
    const ours = readAbc(bytes(abc(score)), 'x');
    expect(ours.title).toBe('50% blues \\ slow');
    expect(ours.notes.flatMap(({ word }) => word ?? []).slice(0, 4)).toEqual(['half-', 'time', '50%', 're-']);
    expect(readWithAbcjs(abc(score)).warnings).toEqual([]);
  });

  it('carries verses and tab', () => {
    const { lyrics, warnings } = readWithAbcjs(abc(sung));
    expect(warnings).toEqual([]);
    expect(lyrics[0].slice(0, 3)).toEqual(['-1', '-2', '-3']);
    expect(lyrics[1].filter((syllable) => syllable !== '_').slice(0, 6)).toEqual([
      'A-',
      'ma-',
      'zing',
      'grace,',
      'how',
      'sweet',
    ]);
    expect(lyrics[2].slice(0, 2)).toEqual(["'Twas", 'grace']);
    const ours = readAbc(bytes(abc(sung)), 'x').notes.map(({ word }) => word);
    expect(ours.slice(0, 4)).toEqual(['A-', 'ma-', 'zing', undefined]);
  });
});

describe('tab', () => {
  const harp = playableNotes({ key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440 });

  it.each(['signs', 'letters', 'arrows'] as const)(
    'in %s reads back to the same notes and lengths',
    (style) => {
      for (const score of [...scores.values(), sung]) {
        const text = writeTab(score, { style, columns: 60, lengths: true });
        const { melody } = melodyFromTab(parseTab(text, style), harp, 'a C harp');
        expect(melody.notes.map(({ midi }) => midi)).toEqual(score.notes.map(({ midi }) => midi));
        const lengths = melody.notes.map(({ durationBeats }) => Number(durationBeats.toFixed(4)));
        expect(lengths).toEqual(score.notes.map(({ lengthTicks }) => Number((lengthTicks / 12).toFixed(4))));
      }
    },
  );
});

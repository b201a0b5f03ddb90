import { describe, expect, it } from 'vitest';
import { writeAbc } from '../../src/export/abc.ts';
import { writeCsv } from '../../src/export/csv.ts';
import { writeMidiFile } from '../../src/export/midi.ts';
import { writeMusicXml } from '../../src/export/musicxml/musicxml.ts';
import { writeHtml } from '../../src/export/page/page.ts';
import { buildScore } from '../../src/export/score.ts';
import { composeSheet } from '../../src/export/sheet/pages.ts';
import { writeTab } from '../../src/export/tab.ts';
import type { NoteOrnament } from '../../src/tab/ornament.ts';
import { parseTab } from '../../src/tab/text-file.ts';
import { buildBeats } from '../../src/take/music.ts';
import { buildTake } from '../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleNote } from '../take/example.ts';
import { notesOfMidi, readWithAbcjs, readWithVerovio, schemaErrors } from './readers.ts';

const STYLE = { style: 'signs' } as const;
const ornament = (one: NoteOrnament) => ({ ornament: one });

/** A beat each: a double stop, an octave, a triad, a shake, and each ornament of single notes; 60 quarter notes a minute. */
const PLAYED = [
  exampleNote('-4', 0, 'n1', { offsetSec: 1, holes: [4, 5] }),
  exampleNote('1', 1, 'n2', { offsetSec: 2, holes: [1, 4] }),
  exampleNote('4', 2, 'n3', { offsetSec: 3, holes: [4, 5, 6] }),
  exampleNote('-4', 3, 'n4', {
    offsetSec: 4,
    holes: [4, 5],
    shake: true,
    ...ornament({ kind: 'shake', notesPerSec: 12 }),
  }),
  exampleNote('-4', 4, 'n5', {
    offsetSec: 5,
    ...ornament({ kind: 'scoop', fromCents: -120, durationSec: 0.2 }),
  }),
  exampleNote('4', 5, 'n6', {
    offsetSec: 6,
    ...ornament({ kind: 'fall', toCents: -150, durationSec: 0.25 }),
  }),
  exampleNote('5', 6, 'n7', { offsetSec: 7, ...ornament({ kind: 'vibrato', rateHz: 5.5, depthCents: 30 }) }),
  exampleNote('6', 7, 'n8', { offsetSec: 8, ...ornament({ kind: 'tremolo', rateHz: 5, depthDb: 4 }) }),
  exampleNote('-6', 8, 'n9', {
    offsetSec: 9,
    ...ornament({ kind: 'hand', changes: 3, depthDb: 6, brightnessDb: 8 }),
  }),
];
const take = buildTake(EXAMPLE_SOURCE, {
  harp: { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440, confidence: 1, alternatives: [] },
  notes: PLAYED,
  phrases: [{ firstNote: 0, lastNote: PLAYED.length - 1 }],
});
const score = buildScore(
  { ...take, beats: buildBeats(PLAYED, { tempoBpm: 60, metre: { count: 4, unit: 4 }, pickupTicks: 0 }) },
  'Together',
);

/** Richter tuning, C harp: 4 5 draw D F, 1 4 blow an octave of C, 4 5 6 blow C E G (facts of the trade, in every tutor). */
const SOUNDING = [[74, 77], [60, 72], [72, 76, 79], [74, 77], [74], [72], [76], [79], [81]];
const written = SOUNDING.flatMap((midis, i) => midis.map((midi) => [midi, i]));
/** Without the shake, which formats write in their own ways. */
const still = written.filter(([, at]) => at !== 3);
const pairs = (notes: readonly { midi: number; onset: number }[]) =>
  notes.map(({ midi, onset }) => [midi, Math.round(onset)]).sort(([a, s], [b, t]) => s - t || a - b);

describe('several holes and ornaments', () => {
  it('are in MusicXML as chords, tremolo, scoop, fall and words, as verovio reads it', async () => {
    const xml = writeMusicXml(score, STYLE);
    expect(schemaErrors(xml)).toEqual([]);
    const { notes, log } = await readWithVerovio(xml);
    expect(log).toBe('');
    // A tremolo is sounded as many notes of its chord.
    expect(pairs(notes.filter(({ onset }) => Math.floor(onset) !== 3))).toEqual(still);
    expect(
      [...new Set(notes.filter(({ onset }) => Math.floor(onset) === 3).map(({ midi }) => midi))].sort(),
    ).toEqual([74, 77]);
    expect(xml.match(/<chord\/>/g)).toHaveLength(5);
    expect(xml.match(/<(?:tremolo type="single"|scoop|falloff)/g)).toEqual([
      '<tremolo type="single"',
      '<scoop',
      '<falloff',
    ]);
    expect(xml.match(/(?<=<words font-style="italic">)[^<]*/g)).toEqual(['shake', 'vib.', 'tremolo', 'wah']);
  });

  it('are in ABC, as abcjs reads it', () => {
    const abc = writeAbc(score, STYLE);
    const { notes, warnings, lyrics } = readWithAbcjs(abc);
    expect(warnings).toEqual([]);
    expect(pairs(notes)).toEqual(written);
    expect(abc).toContain('[df]2');
    expect(abc.match(/"\^[a-z ]+"/g)).toEqual([
      '"^shake"',
      '"^scoop"',
      '"^fall"',
      '"^vibrato"',
      '"^tremolo"',
      '"^wah"',
    ]);
    expect(lyrics[0].slice(0, 4)).toEqual(['-4+5', '1+4', '4+5+6', '-4w5']);
  });

  it.each([false, true])(
    'are in MIDI, a shake as alternating notes at its own rate (as played: %s)',
    (asPlayed) => {
      const notes = notesOfMidi(writeMidiFile(score, { asPlayed }));
      const shaken = notes.filter(({ onset }) => Math.floor(onset + 0.001) === 3);
      expect(pairs(notes.filter((note) => !shaken.includes(note)))).toEqual(still);
      expect(shaken.map(({ midi }) => midi)).toEqual(
        Array.from({ length: 12 }, (_, i) => (i % 2 === 0 ? 74 : 77)),
      );
    },
  );

  it('have columns of their own in CSV', () => {
    const [header, ...rows] = writeCsv(score)
      .trim()
      .split('\r\n')
      .map((row) => row.split(','));
    const column = (name: string) => rows.map((row) => row[header.indexOf(name)]);
    expect(column('holes')).toEqual(['4+5', '1+4', '4+5+6', '4+5', '', '', '', '', '']);
    expect(column('notes').slice(0, 5)).toEqual(['D5+F5', 'C4+C5', 'C5+E5+G5', 'D5+F5', 'D5']);
    expect(column('shake').indexOf('yes')).toBe(3);
    expect(column('ornaments').slice(3)).toEqual(['shake', 'scoop', 'fall', 'vibrato', 'tremolo', 'hand']);
    expect(column('ornament_notes_per_s')[3]).toBe('12');
    expect(column('ornament_cents').slice(4, 7)).toEqual(['-120', '-150', '30']);
    expect(column('ornament_hz').slice(6, 8)).toEqual(['5.5', '5']);
    expect(column('ornament_db').slice(7)).toEqual(['4', '6']);
    expect(column('ornament_s').slice(4, 6)).toEqual(['0.2', '0.25']);
  });

  it('are in tab that reads back', () => {
    const read = parseTab(writeTab(score, { style: 'signs', columns: 80, lengths: false }));
    const notes = read.phrases.flat().filter((item) => item.kind === 'note');
    expect(notes.map(({ note }) => note.holes ?? [note.hole])).toEqual(
      PLAYED.map(({ hole, holes }) => holes ?? [hole]),
    );
    expect(notes.map(({ note }) => note.shake === true).indexOf(true)).toBe(3);
    expect(notes.flatMap(({ ornaments = [] }) => ornaments)).toEqual(['scoop', 'fall', 'vibrato']);
  });

  it('are on the sheet, with every reed on the harp and a legend', async () => {
    const { pages, log } = await composeSheet(score, { style: 'signs', paper: 'a4', by: null });
    expect(log).toBe('');
    const texts = pages.flatMap(({ marks }) => marks.flatMap((mark) => (mark.kind === 'text' ? [mark] : [])));
    const all = texts.map(({ text }) => text);
    for (const tab of ['−4+5', '1+4', '4+5+6', '−4w5', '/−4', '4\\', '5~', 'tremolo', 'wah'])
      expect(all).toContain(tab);
    expect(all.join(' ')).toContain('−4w5 a shake');
    const heads = pages[0].marks.filter((mark) => mark.kind === 'glyph' && mark.name.startsWith('E0A4'));
    expect(heads).toHaveLength(SOUNDING.flat().length);
  });

  it('are on the page, as signs and in words for screen readers', () => {
    const html = writeHtml(score, { ...STYLE, sound: null, staff: null, findings: null });
    expect(html).toContain('<span class="unseen">4 and 5 draw, together</span>');
    expect(html).toContain('<span class="unseen">4, 5 and 6 blow, together</span>');
    expect(html).toContain('<span class="unseen">4 and 5 draw, shake</span>');
    expect(html).toContain('<span class="unseen">4 draw, scooped into</span>');
    expect(html).toContain('<span class="done">wah</span>');
    expect(html).toContain('data-tab="d4 d5"');
    // 4 draw is D5 (587.33 Hz), 5 draw F5 (698.46 Hz) in equal temperament on A4 = 440 Hz.
    expect(html).toContain('data-hz="587.33 698.46" data-shake="12"');
    for (const cell of ['d4', 'd5', 'b1', 'b6'])
      expect(html).toContain(`class="cell used" data-tab="${cell}"`);
    expect(html).toContain('−4w5 a shake');
  });
});

import { XMLValidator } from 'fast-xml-parser';
import { parseMidi } from 'midi-file';
import { describe, expect, it } from 'vitest';
import { writeAbc } from '../../src/export/abc.ts';
import { writeBendsSvg } from '../../src/export/bends-svg.ts';
import { writeCsv } from '../../src/export/csv.ts';
import { type ExportFormat, FORMATS, formatNamed } from '../../src/export/formats.ts';
import { writeMidiFile } from '../../src/export/midi.ts';
import { writeMusicXml } from '../../src/export/musicxml/musicxml.ts';
import { buildBars } from '../../src/export/notation/bars.ts';
import { bestSignature, type Spelled, spell } from '../../src/export/notation/spelling.ts';
import { buildScore, type Score } from '../../src/export/score.ts';
import { composeSheet } from '../../src/export/sheet/pages.ts';
import { pageSvg } from '../../src/export/sheet/svg.ts';
import { writeTab } from '../../src/export/tab.ts';
import { buildBeats, buildPhrases } from '../../src/take/music.ts';
import { checkTake } from '../../src/take/parse.ts';
import { buildTake } from '../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleNote } from '../take/example.ts';
import { readWithVerovio, schemaErrors } from './readers.ts';
import { AMAZING_GRACE, playTune, withWords } from './tunes.ts';

const TAB = { style: 'signs', columns: 80, lengths: false } as const;

/** A score of notes with these lengths in beats, at 60 quarter notes a minute. */
function scoreOf(tabs: string, beats: readonly number[], given = {}): Score {
  let at = 0;
  const notes = tabs.split(' ').map((tab, i) => {
    const note = exampleNote(tab, at, `n${i + 1}`, { offsetSec: at + beats[i] });
    at += beats[i];
    return note;
  });
  const phrases = [{ firstNote: 0, lastNote: notes.length - 1 }];
  const take = buildTake(EXAMPLE_SOURCE, {
    harp: { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440, confidence: 1, alternatives: [] },
    notes,
    phrases,
  });
  return buildScore({ ...take, beats: buildBeats(notes, { tempoBpm: 60, ...given }) }, 'x');
}

describe('spelling', () => {
  // Common practice: notes of the key as they are, F# as a raised fourth in C, Bb as a lowered seventh
  it.each([
    [66, 0, 'F1'],
    [70, 0, 'B-1'],
    [63, 0, 'E-1'],
    [61, 2, 'C1'],
    [70, 1, 'B-1'],
    [71, -6, 'C-1'],
    [60, 0, 'C0'],
  ])('%d in a signature of %d is %s', (midi, fifths, name) => {
    const { step, alter } = spell(midi, fifths);
    expect(`${step}${alter}`).toBe(name);
  });

  it('never changes the pitch', () => {
    // Scientific pitch notation: C4 is middle C, MIDI 60; letters of the C major scale.
    const midiOf = ({ step, alter, octave }: Spelled) =>
      12 * (octave + 1) + [9, 11, 0, 2, 4, 5, 7]['ABCDEFG'.indexOf(step)] + alter;
    for (let midi = 36; midi < 108; midi++) {
      for (let fifths = -6; fifths <= 6; fifths++) expect(midiOf(spell(midi, fifths))).toBe(midi);
    }
  });

  it('finds the signature of a scale', () => {
    const scale = (tonic: number) =>
      [0, 2, 4, 5, 7, 9, 11].map((step) => ({ midi: 60 + tonic + step, durationBeats: 1 }));
    // C, G, D, F, Bb: 0, 1, 2 sharps, 1, 2 flats
    expect([0, 7, 2, 5, 10].map((tonic) => bestSignature(scale(tonic), tonic))).toEqual([0, 1, 2, -1, -2]);
  });
});

describe('bars', () => {
  const signs = (score: Score) =>
    buildBars(score).map(({ symbols }) =>
      symbols
        .map(({ note, type, dots, tiedFrom, triplet }) =>
          [note ? '' : 'r', tiedFrom ? '~' : '', type, dots ? '.' : '', triplet ? '3' : ''].join(''),
        )
        .join(' '),
    );

  // Common practice, no source: a syncopated note is cut where it hides the middle of a beat that it does not begin on
  it('cut notes at bar lines and inside beats', () => {
    const score = scoreOf('4 5 6 5 4', [3, 2, 1, 1.5, 0.5], { metre: { count: 4, unit: 4 } });
    expect(signs(score)).toEqual(['half. quarter', '~quarter quarter quarter. eighth']);
  });

  it('group triplets', () => {
    const third = 1 / 3;
    const score = scoreOf('4 4 5 6 4 4 4 5 6 4', [1, third, third, third, 1, 1, third, third, third, 1], {
      metre: { count: 4, unit: 4 },
    });
    expect(signs(score).join(' ')).toContain(
      'quarter eighth3 eighth3 eighth3 quarter quarter eighth3 eighth3 eighth3',
    );
  });

  it('write a shuffle in even eighths, marked as swing', () => {
    const pair = [2 / 3, 1 / 3];
    const score = scoreOf('4 5 6 5 4 5 6 5 4', [...pair, ...pair, ...pair, ...pair, 2], {
      tempoBpm: 100,
      metre: { count: 4, unit: 4 },
    });
    // At 60 seconds a beat of the tune the given tempo is wrong: the notes are found at their own
    const own = buildScore({ ...score.take, beats: buildBeats(score.take.notes, { tempoBpm: 60 }) }, 'x');
    expect(own.beats.swing).toBe(true);
    expect(signs(own)[0].split(' ').slice(0, 4)).toEqual(['eighth', 'eighth', 'eighth', 'eighth']);
    const xml = writeMusicXml(own, { style: 'signs' });
    expect(schemaErrors(xml)).toEqual([]);
    expect(xml).toContain('<swing>');
    expect(writeAbc(own, { style: 'signs' })).toContain('Q:"Swing" 1/4=60');
  });

  it('are absent in free time, and every format says so', async () => {
    const score = scoreOf('4 5 6', [1, 2.6, 1], { free: true });
    expect(writeTab(score, TAB)).not.toContain('|');
    expect(writeTab(score, TAB)).toContain('free time');
    // 5 lasts longer, so 6 stands further away
    const line = writeTab(score, TAB)
      .split('\n')
      .find((text) => text.startsWith('4'))!;
    expect(line.indexOf('6') - line.indexOf('5')).toBeGreaterThan(line.indexOf('5') - line.indexOf('4'));
    const xml = writeMusicXml(score, { style: 'signs' });
    expect(schemaErrors(xml)).toEqual([]);
    expect(xml).toContain('<senza-misura');
    expect((await readWithVerovio(xml)).log).toBe('');
    expect(writeAbc(score, { style: 'signs' })).toContain('M:none');
  });
});

describe('tab', () => {
  it('says which lines repeat, and where they differ', () => {
    const { take } = playTune('amazing-grace');
    const text = writeTab(buildScore(take, 'x'), TAB);
    expect(text).toContain("# 4 (B'): as line 2, but note 7 is -2 (there -4)");
    expect(text).toContain("# 3 (A'): as line 1, but notes 1 to 2 are -3 -4 (there -1 -2)");
  });

  it('aligns wide characters', () => {
    const { take } = playTune('brother-john');
    const text = writeTab(buildScore(withWords(take, '日 本 の 歌 a b c d'), 'x'), TAB);
    const [tab, words] = text.split('\n').slice(text.split('\n').findIndex((line) => line.startsWith('4')));
    // Each of these takes two columns: the second note stands in column 3 (East Asian Width, Unicode UAX #11)
    expect(tab.slice(0, 6)).toBe('4  -4 ');
    expect(words.startsWith('日 本')).toBe(true);
  });

  it('prints words without a note', () => {
    const { take } = playTune('brother-john');
    const words = Array.from({ length: 40 }, (_, i) => (i < 32 ? 'la' : i === 38 ? 'o-ver' : 'more')).join(
      ' ',
    );
    const text = writeTab(buildScore(withWords(take, words), 'x'), TAB);
    expect(text).toContain('# Words without a note:\n# more more more more more more o-ver more\n');
  });
});

describe('MIDI as played', () => {
  const bent = buildTake(EXAMPLE_SOURCE, {
    harp: { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440, confidence: 1, alternatives: [] },
    // 4 draw on a C harp is D5, 74
    notes: [
      exampleNote('-4', 1, 'n1', { midi: 73.5 }),
      exampleNote('-4', 2, 'n2', { midi: 74.15 }),
      exampleNote('-4', 3, 'n3', { midi: 80 }),
    ],
    phrases: [],
  });
  const file = writeMidiFile(buildScore(bent, 'Ä'), { asPlayed: true });
  const { header, tracks } = parseMidi(file);

  // facts: bend range ±2 semitones by RPN 0; -50 cents = 6144 of 16384 (8192 is none), +15 = 8806, clamped at 16383
  it('has pitch bends as measured', () => {
    const bends = tracks[1].flatMap((event) => (event.type === 'pitchBend' ? [event.value + 8192] : []));
    expect(bends).toEqual([6144, 8806, 16383]);
    const controls = tracks[1].flatMap((event) =>
      event.type === 'controller' ? [[event.controllerType, event.value]] : [],
    );
    expect(controls.slice(0, 4)).toEqual([
      [101, 0],
      [100, 0],
      [6, 2],
      [38, 0],
    ]);
  });

  it('keeps the times of the recording', () => {
    const tempo = tracks[0].find((event) => event.type === 'setTempo')!;
    const perTick = tempo.microsecondsPerBeat / 1e6 / header.ticksPerBeat!;
    let ticks = 0;
    const onsets: number[] = [];
    for (const event of tracks[1]) {
      ticks += event.deltaTime;
      if (event.type === 'noteOn') onsets.push(ticks * perTick);
    }
    for (const [i, sec] of [1, 2, 3].entries()) expect(Math.abs(onsets[i] - sec)).toBeLessThan(0.002); // one tick
  });

  it('has General MIDI program 23 counted from one, UTF-8 text, and the bytes of the standard', () => {
    // MIDI 1.0: C0 16 sets program 22 counted from zero on channel 1; "Ä" in UTF-8 is C3 84
    expect(Buffer.from(file).includes(Buffer.from([0xc0, 0x16]))).toBe(true);
    expect(Buffer.from(file).includes(Buffer.from([0xc3, 0x84]))).toBe(true);
    expect(Buffer.from(file).subarray(0, 8)).toEqual(Buffer.from([0x4d, 0x54, 0x68, 0x64, 0, 0, 0, 6]));
  });

  it('has lyrics with hyphens inside words', () => {
    const sung = buildScore(withWords(playTune('amazing-grace').take, AMAZING_GRACE), 'x');
    const track = parseMidi(writeMidiFile(sung, { asPlayed: false })).tracks[1];
    const lyrics = track.flatMap((event) => (event.type === 'lyrics' ? [event.text] : []));
    expect(lyrics.slice(0, 4)).toEqual(['A-', 'ma-', 'zing ', 'grace, ']);
  });
});

describe('CSV', () => {
  it('has one row per note, and the quoting and line ends of RFC 4180', () => {
    const { take } = playTune('amazing-grace');
    const lines = writeCsv(buildScore(withWords(take, 'a, "b" =c'), 'x')).split('\r\n');
    expect(lines[0].split(',').slice(0, 13)).toEqual(
      'number id onset_s offset_s phrase phrase_label section bar beat length_beats tab hole breath'.split(
        ' ',
      ),
    );
    expect(lines[1]).toMatch(/^1,n1,0\.5,1\.125,1,A,,0,3,1,1D,1,draw,0,no,D4,62,/);
    // Which notes three words of a whole tune stand on is decided elsewhere.
    const withWord = (ending: RegExp): number => lines.findIndex((line) => ending.test(line));
    const places = [/,"a,"$/, /,"""b"""$/, /,'=c$/].map(withWord);
    expect(places[0]).toBeGreaterThan(0);
    expect(places).toEqual([...places].sort((a, b) => a - b));
    expect(lines.at(-1)).toBe('');
  });

  it('begins with a byte order mark only if needed', () => {
    const { take } = playTune('amazing-grace');
    expect(writeCsv(buildScore(take, 'x')).startsWith('number')).toBe(true);
    expect(writeCsv(buildScore(withWords(take, 'schön'), 'x')).startsWith('\uFEFFnumber')).toBe(true);
  });
});

describe('pictures', () => {
  it('the sheet has staff, tab and words, without warnings of the engraver', async () => {
    const score = buildScore(withWords(playTune('amazing-grace').take, AMAZING_GRACE), 'Amazing <Grace>');
    const sheet = await composeSheet(score, { style: 'signs', paper: 'a4', by: 'traditional' });
    expect(sheet.log).toBe('');
    expect(sheet.pages).toHaveLength(1);
    const svg = pageSvg(sheet, sheet.pages[0]);
    expect(XMLValidator.validate(svg)).toBe(true);
    for (const text of ['Amazing &lt;Grace&gt;', 'grace,', "−3''", 'traditional'])
      expect(svg).toContain(text);
    // Heads of half and of quarter notes (SMuFL U+E0A3 and U+E0A4).
    expect(svg.match(/href="#E0A[34]"/g)?.length).toBeGreaterThanOrEqual(32);
  });

  it('the chart of bends shows each kind with its median in words', () => {
    const notes = [
      exampleNote("-3''", 0, 'n1', { cents: -30 }),
      exampleNote("-3''", 1, 'n2', { cents: -10 }),
      exampleNote("-3''", 2, 'n3', { cents: -14 }),
      exampleNote('6o', 3, 'n4', { cents: 0.2 }),
      exampleNote("-4'", 4, 'n5', { cents: 99, confidence: 0.2 }),
      exampleNote('4', 5, 'n6', { cents: 50 }),
    ];
    const take = buildTake(EXAMPLE_SOURCE, {
      harp: { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440, confidence: 1, alternatives: [] },
      notes,
      phrases: [],
    });
    const svg = writeBendsSvg(buildScore(take, 'a & b'), { style: 'signs' })!;
    expect(svg).toContain('<desc id="desc">-3\'\': 3 times, 14 flat; 6o: once, on target</desc>');
    expect(svg.match(/<circle/g)?.length).toBe(4);
    expect(svg).toContain('a &amp; b');
    expect(writeBendsSvg(buildScore(playTune('brother-john').take, 'x'), { style: 'signs' })).toBeNull();
  });
});

describe('the take in JSON', () => {
  it('is a take with its beats', async () => {
    const { take } = playTune('brother-john');
    const score = buildScore({ ...take, beats: {} }, 'x');
    const text = await FORMATS.json.write(score);
    expect(checkTake(JSON.parse(text as string), 'x').beats.notes?.length).toBe(take.notes.length);
  });
});

describe('corrected takes', () => {
  it('get a new grid if notes were added, with what the player said', () => {
    const { take } = playTune('brother-john');
    const beats = buildBeats(take.notes, { metre: { count: 3, unit: 4 } });
    const [first] = take.notes;
    const extra = { ...first, id: 'new', onsetSec: first.onsetSec - 0.4, offsetSec: first.onsetSec };
    const notes = [extra, ...take.notes];
    const phrases = buildPhrases(notes, [{ firstNote: 0, lastNote: notes.length - 1 }]);
    const score = buildScore({ ...take, notes, phrases, beats }, 'x');
    expect(score.notes.length).toBe(notes.length);
    expect(score.beats.metre).toEqual({ count: 3, unit: 4 });
  });

  it('keep words whose note was deleted', () => {
    const { take } = playTune('brother-john');
    const sung = withWords(take, 'one two three four');
    const score = buildScore({ ...sung, notes: sung.notes.slice(1), phrases: [] }, 'x');
    expect(score.leftOver.map(({ text }) => text)).toEqual(['one']);
  });
});

describe('the formats', () => {
  it('are found by name and by common aliases', () => {
    expect(['tab', 'TXT', ' mid', 'xml', 'docx', 'toString'].map(formatNamed)).toEqual([
      'tab',
      'tab',
      'midi',
      'musicxml',
      undefined,
      undefined,
    ]);
  });

  it('have extensions of their own', () => {
    const extensions = Object.values(FORMATS).map((format: ExportFormat) => format.extension);
    expect(new Set(extensions).size).toBe(extensions.length);
  });
});

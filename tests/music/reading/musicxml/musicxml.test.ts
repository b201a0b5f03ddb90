import { strToU8, zipSync } from 'fflate';
import { describe, expect, it } from 'vitest';
import { readMusicXml } from '../../../../src/music/reading/musicxml/musicxml.ts';

const read = (text: string) => readMusicXml(strToU8(text), 'score.musicxml');
const pitch = (name: string) => {
  const [, step, sign, octave] = /^([A-G])([#b]?)(\d)$/.exec(name)!;
  const alter = sign === '' ? '' : `<alter>${sign === '#' ? 1 : -1}</alter>`;
  return `<pitch><step>${step}</step>${alter}<octave>${octave}</octave></pitch>`;
};
const note = (name: string, duration: number, more = '', before = '') =>
  `<note>${before}${pitch(name)}<duration>${duration}</duration>${more}</note>`;
const ATTRIBUTES =
  '<attributes><divisions>2</divisions><key><fifths>-1</fifths><mode>minor</mode></key><time><beats>3</beats><beat-type>4</beat-type></time></attributes>';
const score = (measures: string[], head = '', tail = '') =>
  `<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">
<score-partwise version="4.0">${head}<part-list><score-part id="P1"><part-name>Harp</part-name></score-part></part-list>
<part id="P1">${measures.map((m, i) => `<measure number="${i + 1}">${i === 0 ? ATTRIBUTES : ''}${m}</measure>`).join('\n')}</part>${tail}</score-partwise>`;

const notesOf = (text: string) => read(text).notes.map((n) => [n.midi, n.onsetBeats, n.durationBeats]);

describe('MusicXML', () => {
  // MusicXML 4.0: duration / divisions are quarters; octave 4 begins at middle C; -1 fifths minor is D minor
  it('reads pitch, time, head and words', () => {
    const melody = read(
      score(
        [
          `<direction><direction-type><metronome><beat-unit>half</beat-unit><per-minute>45</per-minute></metronome></direction-type></direction>${note('C4', 2, '<lyric><syllabic>begin</syllabic><text>A</text></lyric>')}${note('F#5', 1, '<lyric><syllabic>end</syllabic><text>men &amp; on</text></lyric>')}${note('Bb3', 3)}`,
          `<print new-system="yes"/><note><rest/><duration>4</duration></note>${note('A4', 2)}`,
        ],
        '<work><work-title>Own &lt;tune&gt;</work-title></work>',
      ),
    );
    expect(melody).toEqual({
      title: 'Own <tune>',
      tonic: 2,
      metre: { count: 3, unit: 4 },
      beatsPerMinute: 90,
      lineStarts: [0, 3],
      remarks: [],
      notes: [
        { midi: 60, onsetBeats: 0, durationBeats: 1, word: 'A-' },
        { midi: 78, onsetBeats: 1, durationBeats: 0.5, word: 'men & on' },
        { midi: 58, onsetBeats: 1.5, durationBeats: 1.5 },
        { midi: 69, onsetBeats: 5, durationBeats: 1 },
      ],
    });
  });

  it('recognises a pick-up by a first measure that is too short', () => {
    expect(read(score([note('C4', 2), note('D4', 6)])).pickupBeats).toBe(1);
    expect(read(score([note('C4', 6), note('D4', 6)])).pickupBeats).toBeUndefined();
  });

  it('joins ties, keeps the top of chords, leaves out grace notes and second voices', () => {
    const tied = score([
      `${note('C4', 2, '<tie type="start"/>')}${note('C4', 2, '<tie type="stop"/><tie type="start"/>')}`,
      `${note('C4', 2, '<tie type="stop"/>')}${note('C4', 2)}`,
    ]);
    expect(notesOf(tied)).toEqual([
      [60, 0, 3],
      [60, 3, 1],
    ]);
    const chord = score([
      `${note('C4', 2)}${note('G4', 2, '', '<chord/>')}${note('E4', 2, '', '<chord/>')}${note('D4', 2)}`,
    ]);
    expect(notesOf(chord)).toEqual([
      [67, 0, 1],
      [62, 1, 1],
    ]);
    const grace = score([`<note><grace/>${pitch('B4')}</note>${note('C5', 2)}`]);
    expect(notesOf(grace)).toEqual([[72, 0, 1]]);
    const voices = read(
      score([
        `${note('C5', 2, '<voice>1</voice>')}${note('D5', 2, '<voice>1</voice>')}<backup><duration>4</duration></backup>${note('C6', 4, '<voice>2</voice>')}`,
        note('E5', 2, '<voice>1</voice>'),
      ]),
    );
    expect(voices.notes.map((n) => [n.midi, n.onsetBeats])).toEqual([
      [72, 0],
      [74, 1],
      [76, 2],
    ]);
    expect(voices.remarks).toEqual([
      "of 2 voices 'P1.1' was read, the highest; choose another with --part: 'P1.1', 'P1.2'",
    ]);
  });

  it('writes out repeats and endings', () => {
    const barline = (location: string, inside: string) =>
      `<barline location="${location}">${inside}</barline>`;
    const repeated = score([
      note('C4', 6),
      `${barline('left', '<ending number="1" type="start"/>')}${note('D4', 6)}${barline('right', '<ending number="1" type="stop"/><repeat direction="backward"/>')}`,
      `${barline('left', '<ending number="2" type="start"/>')}${note('E4', 6)}${barline('right', '<ending number="2" type="discontinue"/>')}`,
      `${barline('left', '<repeat direction="forward"/>')}${note('F4', 6)}${barline('right', '<repeat direction="backward" times="3"/>')}`,
    ]);
    const midis = (repeats: boolean) =>
      readMusicXml(strToU8(repeated), 'score.musicxml', { repeats }).notes.map(({ midi }) => midi);
    expect(midis(true)).toEqual([60, 62, 60, 64, 65, 65, 65]);
    expect(midis(false)).toEqual([60, 64, 65]);
  });

  it('reads the upper voice of a piano part, or the one asked for', () => {
    const hands = score([
      `${note('C3', 2, '<voice>5</voice>')}${note('G3', 2, '<voice>5</voice>')}<backup><duration>4</duration></backup>${note('E5', 2, '<voice>1</voice>')}${note('F5', 2, '<voice>1</voice>')}`,
    ]);
    expect(read(hands).notes.map(({ midi }) => midi)).toEqual([76, 77]);
    const left = readMusicXml(strToU8(hands), 'score.musicxml', { part: 'P1.5' });
    expect(left.notes.map(({ midi }) => midi)).toEqual([48, 55]);
    expect(left.remarks).toEqual([]);
  });

  it('reports grace notes and skips cues, which another part plays', () => {
    const grace = score([`<note><grace/>${pitch('B4')}</note>${note('C5', 2)}`]);
    expect(read(grace).remarks).toEqual(['grace notes were left out']);
    expect(notesOf(score([`${note('C6', 2, '', '<cue/>')}${note('C5', 2)}`]))).toEqual([[72, 1, 1]]);
  });

  it("recognises the singer's part in other languages, and never a part that rarely plays", () => {
    const named = (name: string, other: string) =>
      score([`${note('C4', 2)}${note('D4', 2)}`])
        .replace('<part-name>Harp<', `<part-name>${name}<`)
        .replace(
          '</score-part></part-list>',
          `</score-part><score-part id="P2"><part-name>${other}</part-name></score-part></part-list>`,
        )
        .replace(
          '</score-partwise>',
          `<part id="P2"><measure>${ATTRIBUTES}${note('C6', 1)}${note('D6', 0.2)}</measure></part></score-partwise>`,
        );
    expect(read(named('Singstimme', 'Klavier')).remarks[0]).toMatch(
      /'P1' \(Singstimme\) was read, by its name/,
    );
    expect(read(named('Flute', 'Bells')).remarks[0]).toMatch(/'P1' \(Flute\) was read, the highest/);
  });

  it('reads a transposing part as it sounds', () => {
    const clarinet = score([
      `<attributes><transpose><diatonic>-1</diatonic><chromatic>-2</chromatic><octave-change>1</octave-change></transpose></attributes>${note('D4', 2)}`,
    ]);
    expect(notesOf(clarinet)).toEqual([[72, 0, 1]]);
    // Written in D minor, so heard in C minor.
    expect(read(clarinet.replace('</attributes><attributes>', '')).tonic).toBe(0);
  });

  it('reads the first part that has a melody', () => {
    const drums = score([
      '<note><unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched><duration>2</duration></note>',
    ]);
    const withMelody = drums.replace(
      '</score-partwise>',
      `<part id="P2"><measure number="1">${note('E5', 2)}</measure></part></score-partwise>`,
    );
    expect(read(withMelody).notes.map((n) => n.midi)).toEqual([76]);
    expect(read(withMelody).remarks).toEqual([]);
    expect(() => read(drums)).toThrow(/has no pitched notes/);
  });

  it('opens .mxl', () => {
    const container =
      '<?xml version="1.0"?><container><rootfiles><rootfile full-path="a/score.xml"/></rootfiles></container>';
    const text = score([note('C4', 2)]);
    const packed = zipSync({ 'META-INF/container.xml': strToU8(container), 'a/score.xml': strToU8(text) });
    expect(readMusicXml(packed, 'x.mxl')).toEqual(read(text));
    expect(() => readMusicXml(packed.slice(0, 60), 'x.mxl')).toThrow(/damaged .mxl/);
    expect(() => readMusicXml(zipSync({ 'a.txt': strToU8('hello') }), 'x.mxl')).toThrow(
      /zip file without a score/,
    );
  });

  it('reads UTF-16', () => {
    const text = score([note('C4', 2)]).replace('UTF-8', 'UTF-16');
    const utf16 = new Uint8Array(Buffer.from(`\uFEFF${text}`, 'utf16le'));
    expect(readMusicXml(utf16, 'x.xml').notes).toHaveLength(1);
  });

  it.each([
    ['text', 'hello', /is not MusicXML/],
    ['nothing', '', /is not MusicXML|is empty/],
    ['broken XML', '<score-partwise><part></score-partwise>', /line 1, column \d+/],
    ['another format', '<svg xmlns="x"/>', /begins with <svg>/],
    ['timewise', '<score-timewise/>', /timewise/],
    ['no notes', score(['']), /no pitched notes/],
  ])('refuses %s', (_, text, message) => {
    expect(() => read(text)).toThrow(
      expect.objectContaining({ code: 'E_MUSIC_INVALID', message: expect.stringMatching(message) }),
    );
  });

  it('is safe from growing entities', () => {
    const levels = Array.from({ length: 9 }, (_, i) => `<!ENTITY e${i + 1} "${`&e${i};`.repeat(10)}">`).join(
      '',
    );
    const bomb = `<!DOCTYPE x [<!ENTITY e0 "ha">${levels}]><score-partwise><work><work-title>&e9;</work-title></work><part>${'<measure/>'}</part></score-partwise>`;
    expect(() => read(bomb)).toThrow(expect.objectContaining({ code: 'E_MUSIC_INVALID' }));
  });
});

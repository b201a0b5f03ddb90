import abcjs from 'abcjs';
import { describe, expect, it } from 'vitest';
import { readAbc } from '../../../../src/music/reading/abc/abc.ts';
import { parseAbcKey } from '../../../../src/music/reading/abc/key.ts';
import { readMidi } from '../../../../src/music/reading/midi.ts';

const bytes = (text: string) => new TextEncoder().encode(text);
const read = (text: string) => readAbc(bytes(text), 'tune.abc');
const body = (music: string, key = 'C', more = '') => read(`X:1\n${more}L:1/4\nK:${key}\n${music}\n`);
const midis = (music: string, key?: string) => body(music, key).notes.map((n) => n.midi);
const lengths = (music: string, more?: string) => body(music, 'C', more).notes.map((n) => n.durationBeats);
const words = (music: string, sung: string) => body(`${music}\nw: ${sung}`).notes.map((n) => n.word ?? null);

describe('ABC', () => {
  // The abc music standard 2.1: C = middle C, c an octave up, ' and , octaves
  it('pitches', () => {
    expect(midis("C c c' C, ^F _B =c ^^G __A")).toEqual([60, 72, 84, 48, 66, 70, 72, 69, 67]);
    expect(midis('F C G B', 'D')).toEqual([66, 61, 67, 71]);
    expect(midis('F B E', 'Bb')).toEqual([65, 70, 63]);
    expect(midis('F C', 'Em')).toEqual([66, 60]);
    expect(midis('F C', 'Ador')).toEqual([66, 60]);
    expect(midis('=F F | F', 'G')).toEqual([65, 65, 66]);
    expect(midis('C[K:D]C F')).toEqual([60, 61, 66]);
    expect(midis('[CEG] c')).toEqual([67, 72]);
  });

  it.each([
    ['G', 7, 'F1'],
    ['Am', 9, ''],
    ['A mix', 9, 'F1 C1'],
    ['Bb dorian', 10, 'B-1 E-1 A-1 D-1'],
    ['F#', 6, 'F1 C1 G1 D1 A1 E1'],
    ['Gb', 6, 'B-1 E-1 A-1 D-1 G-1 C-1'],
    ['D exp _b ^f', 2, 'B-1 F1'],
    ['G clef=treble', 7, 'F1'],
    ['none', null, ''],
  ])('K:%s', (text, tonic, signs) => {
    // Signatures: elementary theory
    const key = parseAbcKey(text)!;
    expect(key.tonic).toBe(tonic);
    expect([...key.signature].map(([letter, sign]) => `${letter}${sign}`).join(' ')).toBe(signs);
  });

  it('refuses an invalid key', () => {
    expect(parseAbcKey('H')).toBeNull();
    expect(parseAbcKey('G#')).toBeNull(); // eight sharps
    expect(() => read('X:1\nK:quite\nA')).toThrow(/line 2: 'quite' is not a key/);
  });

  it('keeps an accidental over a tie into the next bar, and no further', () => {
    const { notes } = body('=c2-|c2 c', 'D');
    expect(notes.map(({ midi, durationBeats }) => [midi, durationBeats])).toEqual([
      [72, 4],
      [73, 1],
    ]);
    expect(body('=c2|c2', 'D').notes.map(({ midi }) => midi)).toEqual([72, 73]);
  });

  it('lengths', () => {
    expect(lengths('A A2 A/2 A/ A// A3/2 A/4')).toEqual([1, 2, 0.5, 0.5, 0.25, 1.5, 0.25]);
    expect(lengths('A>B A<B A>>B')).toEqual([1.5, 0.5, 0.5, 1.5, 1.75, 0.25]);
    expect(lengths('(3ABc (2AB A')).toEqual([2 / 3, 2 / 3, 2 / 3, 1.5, 1.5, 1]);
    expect(lengths('A-A|A- | A2 A-B')).toEqual([2, 3, 1, 1]);
    // Of two tied notes only the second is dotted.
    expect(lengths('A2-A>B A-<B')).toEqual([3.5, 0.5, 0.5, 1.5]);
    expect(body('A z B z2 c').notes.map((n) => n.onsetBeats)).toEqual([0, 2, 5]);
    expect(body('A|Z|B', 'C', 'M:3/4\n').notes.map((n) => n.onsetBeats)).toEqual([0, 4]);
    // Default unit: 1/8 from 3/4 up, 1/16 below
    expect(read('X:1\nM:2/4\nK:C\nA').notes[0].durationBeats).toBe(0.25);
    expect(read('X:1\nM:6/8\nK:C\nA').notes[0].durationBeats).toBe(0.5);
  });

  it('head', () => {
    const melody = read(
      'X:1\nT:A tune\nT:second title\nM:6/8\nL:1/8\nQ:3/8=60\nK:Dmix\nABc|\ndef|\n\nX:2\nK:C\nc',
    );
    expect(melody).toMatchObject({
      title: 'A tune',
      metre: { count: 6, unit: 8 },
      beatsPerMinute: 90,
      tonic: 2,
      lineStarts: [0, 3],
    });
    expect(melody.notes).toHaveLength(6);
    expect(read('X:1\nL:1/8\nQ:120\nK:C\nc').beatsPerMinute).toBe(60);
    expect(read('X:1\nQ:"Fast" 1/4=120\nK:C\nc').beatsPerMinute).toBe(120);
  });

  it('a pick-up', () => {
    expect(body('C | D E F | G2', 'C', 'M:3/4\n').pickupBeats).toBe(1);
    expect(body('|: C/ | D E F | G2', 'C', 'M:3/4\n').pickupBeats).toBe(0.5);
    expect(body('D E F | G2', 'C', 'M:3/4\n').pickupBeats).toBeUndefined();
    expect(body('C | D E F').pickupBeats).toBeUndefined();
  });

  it('keeps a chord that one mouth can cover, and only the highest note of others', () => {
    // Holes 1 to 5 of a C harp, blown: C E G C E
    expect(body('[CEGce]').notes[0].chord).toEqual([60, 64, 67, 72, 76]);
    const wide = body('[C,e]');
    expect(wide.notes).toEqual([{ midi: 76, onsetBeats: 0, durationBeats: 1 }]);
    expect(wide.remarks).toEqual(['1 note sounding under a higher one left out']);
  });

  it('reads accents', () => {
    // Mnemonics, named entities and code points, ABC 2.1 section 8.2
    const { title } = read('X:1\nT:\\"uber \\\'a &ccedil;a \\u00f1 \\ss \\cC\nK:C\nC');
    expect(title).toBe('über á ça ñ ß Ç');
    expect(words('CD', '\\"u-ber')).toEqual(['ü-', 'ber']);
  });

  it('continues a line of words with +:', () => {
    // ABC 2.1, section 3.3
    const { notes, remarks } = body('CDEF\nw: one two\n+: three go\nGABc');
    expect(notes.map(({ word }) => word ?? null)).toEqual([
      'one',
      'two',
      'three',
      'go',
      null,
      null,
      null,
      null,
    ]);
    expect(remarks).toEqual([]);
  });

  it('reports that parts are read as written, and that a key is missing', () => {
    expect(body('CDEF', 'C', 'P:AABA\n').remarks).toEqual(['parts are read as written, not as AABA']);
    expect(() => read('X:1\nT:Tune\nCDEF')).toThrow(/has no key/);
  });

  it('words', () => {
    // Signs of w: lines, ABC 2.1 section 5
    expect(words('CDEF', 'o-ver the sea')).toEqual(['o-', 'ver', 'the', 'sea']);
    expect(words('CDEF', 'ah _ * so')).toEqual(['ah', null, null, 'so']);
    expect(words('CD|EF', 'ah | so it')).toEqual(['ah', null, 'so', 'it']);
    expect(words('CDE', 'of~the day- ')).toEqual(['of the', 'day-', null]);
    expect(words('CDE', '\\-4 5 \\-6')).toEqual(['-4', '5', '-6']);
    expect(words('CDE', 'too ma-ny syl-la-bles')).toEqual(['too', 'ma-', 'ny']);
  });

  it('skips what is not melody, and says so', () => {
    const melody = body('"Am"A !trill!B {gf}c .d ~e (fg) |: A :| # B\n% remark\nA \\\nB');
    expect(melody.notes.map((n) => n.midi)).toEqual([69, 71, 72, 74, 76, 77, 79, 69, 69, 71, 69, 71]);
    expect(melody.remarks.join('\n')).toMatch(/repeats are written out/);
    expect(melody.remarks.join('\n')).toMatch(/column \d+: '#' skipped/);
    const voices = read('X:1\nL:1/4\nK:C\nV:1\nAB\nV:2\nCD\nV:1\ncd');
    expect(voices.notes.map((n) => n.midi)).toEqual([69, 71, 72, 74]);
    expect(voices.remarks).toEqual([
      "of 2 voices '1' was read, the highest; choose another with --part: '1', '2'",
    ]);
  });

  it('reads the voice that is named as the melody, or the one asked for', () => {
    const parts = 'X:1\nL:1/4\nK:C\nV:A name="Fiddle"\nV:B name="Melody"\n[V:A] ag\n[V:B] CD\n';
    const part = (name?: string) =>
      readAbc(bytes(parts), 'x', name === undefined ? {} : { part: name }).notes.map(({ midi }) => midi);
    expect(part()).toEqual([60, 62]);
    expect(part('fiddle')).toEqual([81, 79]);
    expect(part('1')).toEqual([81, 79]);
    expect(() => part('Bass')).toThrow(expect.objectContaining({ code: 'E_USAGE' }));
  });

  it('reads the requested tune of several, and lists them', () => {
    const book = '%abc\nM:3/4\nX:1\nT:One\nL:1/4\nK:C\nCDE\n\nX:2\nT:Two\nL:1/4\nK:G\nGAB\n';
    const first = read(book);
    expect(first.notes.map(({ midi }) => midi)).toEqual([60, 62, 64]);
    expect(first.remarks).toEqual(['tune 1 of 2 was read; choose another with --tune: 1 One, 2 Two']);
    const second = readAbc(bytes(book), 'x', { tune: 2 });
    expect([second.title, second.metre, second.remarks]).toEqual(['Two', { count: 3, unit: 4 }, []]);
    expect(() => readAbc(bytes(book), 'x', { tune: 3 })).toThrow(/has 2 tunes, so there is no tune 3/);
  });

  it('reads broken rhythm after a rest, leaves out overlays, and reports grace notes', () => {
    const broken = read('X:1\nL:1/4\nK:C\nC z>D E');
    expect(broken.notes.map(({ onsetBeats, durationBeats }) => [onsetBeats, durationBeats])).toEqual([
      [0, 1],
      [2.5, 0.5],
      [3, 1],
    ]);
    const overlaid = read('X:1\nL:1/4\nK:C\nc{d}d e & C2 E | f');
    expect(overlaid.notes.map(({ midi, onsetBeats }) => [midi, onsetBeats])).toEqual([
      [72, 0],
      [74, 1],
      [76, 2],
      [77, 3],
    ]);
    expect(overlaid.remarks).toContain('grace notes were left out');
    expect(overlaid.remarks.join()).toContain('after &');
  });

  it.each(['', 'hello', 'X:1\nK:C\n', 'X:1\nT:no key\nABc'])('refuses %j', (text) => {
    expect(() => read(text)).toThrow(expect.objectContaining({ code: 'E_MUSIC_INVALID' }));
  });

  // Traditional, public domain; written out here.
  const TUNES = [
    'X:1\nT:Scarborough Fair\nM:3/4\nL:1/4\nQ:1/4=100\nK:Ddor\nD2 D|A2 A|E>F E|D3|z A c|d2 c|A B G|A3|\nz2 d|d2 d|c2 A|A G F|E C2|D2 A|G2 F|E D C|D3|]\n',
    'X:1\nT:jig\nM:6/8\nL:1/8\nQ:3/8=120\nK:G\nD|GAG GBd|(3efg f ede|d>BG A2B|^c/d/e/f/ g _B2-B|G3 G2|]\n',
    "X:1\nT:flats\nM:4/4\nL:1/8\nQ:1/4=90\nK:Cm\nc2 B A/G/ F4|E<D ^F2 =B,2 C2-|C4 z2 G,2|(2EF G3/2A/2 B c'2 c|]\n",
  ];
  it.each(TUNES)('agrees with another reader of ABC', (tune) => {
    // abcjs renders the tune to MIDI
    const [file] = abcjs.synth.getMidiFile(tune, { midiOutputType: 'binary' }) as unknown as Uint8Array[];
    const theirs = readMidi(new Uint8Array(file), 'theirs.mid');
    const ours = read(tune);
    expect(ours.notes.map((n) => n.midi)).toEqual(theirs.notes.map((n) => n.midi));
    for (const [i, note] of ours.notes.entries()) {
      expect(note.onsetBeats).toBeCloseTo(theirs.notes[i].onsetBeats - theirs.notes[0].onsetBeats, 1);
    }
    expect(ours.beatsPerMinute).toBeCloseTo(theirs.beatsPerMinute!, 0);
  });
});

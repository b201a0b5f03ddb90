import { zipSync } from 'fflate';
import { type MidiEvent, writeMidi } from 'midi-file';
import { describe, expect, it } from 'vitest';
import { ReedtraceError } from '../../../src/errors.ts';
import { readAbc } from '../../../src/music/reading/abc/abc.ts';
import { readMidi } from '../../../src/music/reading/midi.ts';
import { readMusicXml } from '../../../src/music/reading/musicxml/musicxml.ts';

const utf8 = (text: string): Uint8Array => new TextEncoder().encode(text);

function failure(read: () => unknown): ReedtraceError {
  try {
    read();
  } catch (error) {
    if (error instanceof ReedtraceError) return error;
    throw error;
  }
  throw new Error('was read');
}

const score = (notes: string, title = 'Tune'): string =>
  `<score-partwise><work><work-title>${title}</work-title></work><part id="P1"><measure number="1">` +
  `<attributes><divisions>1</divisions></attributes>${notes}</measure></part></score-partwise>`;
const note = (duration: number, octave = 4): string =>
  `<note><pitch><step>C</step><octave>${octave}</octave></pitch><duration>${duration}</duration></note>`;

function midi(...events: MidiEvent[]): Uint8Array {
  const end: MidiEvent = { type: 'endOfTrack', deltaTime: 0, meta: true };
  const header = { format: 0, numTracks: 1, ticksPerBeat: 480 } as const;
  return Uint8Array.from(writeMidi({ header, tracks: [[...events, end]] }));
}
const sound = (type: 'noteOn' | 'noteOff', deltaTime: number): MidiEvent => ({
  type,
  deltaTime,
  channel: 0,
  noteNumber: 60,
  velocity: 80,
});

describe('a zipped score', () => {
  const container = utf8('<container><rootfiles><rootfile full-path="score.xml"/></rootfiles></container>');

  it('unpacks nothing but the score, whatever else is in it', () => {
    const bomb = Buffer.from(
      zipSync({
        'META-INF/container.xml': container,
        'bomb.bin': new Uint8Array(1_000_000),
        'score.xml': utf8(score(note(1))),
      }),
    );
    // What can't be unpacked, and need not be.
    const content = bomb.indexOf('bomb.bin') + 'bomb.bin'.length;
    bomb.fill(0xff, content, content + 100);
    expect(readMusicXml(bomb, 'bomb.mxl').notes).toHaveLength(1);
  });

  it('is refused if the score exceeds the limit', () => {
    const packed = zipSync({ 'META-INF/container.xml': container, 'score.xml': new Uint8Array(70_000_000) });
    const error = failure(() => readMusicXml(packed, 'bomb.mxl'));
    expect(error).toMatchObject({ code: 'E_TOO_LARGE' });
    expect(error.message).toBe("'bomb.mxl' has 70,000,000 bytes; the limit is 67,108,864");
  });

  it('is refused if it has more files than any score', () => {
    const files = Object.fromEntries(Array.from({ length: 1001 }, (_, i) => [`${i}.xml`, utf8('<a/>')]));
    expect(failure(() => readMusicXml(zipSync(files), 'many.mxl')).message).toMatch(
      /1,001 members; the limit is 1,000/,
    );
  });
});

describe('MusicXML', () => {
  it('is refused if its elements are nested beyond the limit', () => {
    const deep = `${'<a>'.repeat(5000)}${'</a>'.repeat(5000)}`;
    expect(failure(() => readMusicXml(utf8(score(deep)), 'deep.xml')).code).toBe('E_MUSIC_INVALID');
  });

  it('is refused if its entities grow', () => {
    const grown = Array.from({ length: 9 }, (_, i) => `<!ENTITY a${i + 1} "${`&a${i};`.repeat(10)}">`).join(
      '',
    );
    const text = `<!DOCTYPE score-partwise [<!ENTITY a0 "ha">${grown}]>${score(note(1), '&a9;')}`;
    const begun = process.memoryUsage().heapUsed;
    try {
      const { title } = readMusicXml(utf8(text), 'laughs.xml');
      expect((title ?? '').length).toBeLessThanOrEqual(1000);
    } catch (error) {
      expect(error).toMatchObject({ code: 'E_MUSIC_INVALID' });
    }
    expect(process.memoryUsage().heapUsed - begun).toBeLessThan(2e8);
  });

  it.each([
    ['of notes without a length', note(0), /has no pitched notes/],
    [
      'of a note in a thousandth octave',
      note(1, 1000),
      /outside the range of any instrument \(MIDI number 12012\)/,
    ],
    ['of a note that lasts for ever', note(1e300), /1e\+300|quarter notes; the limit is 1,000,000/],
  ])('%s', (_, notes, message) => {
    expect(failure(() => readMusicXml(utf8(score(notes)), 'x.xml')).message).toMatch(message);
  });
});

describe('MIDI', () => {
  it('has no notes if none has a length', () => {
    const error = failure(() => readMidi(midi(sound('noteOn', 0), sound('noteOff', 0)), 'x.mid'));
    expect(error).toMatchObject({ code: 'E_MUSIC_INVALID', message: "'x.mid' has no notes" });
  });
});

describe('control characters', () => {
  const ESCAPE = '\u001b[2J';
  const OVERRIDE = '\u202e';
  it('are removed from the title and words of a tune', () => {
    const hostile = `A${ESCAPE}${OVERRIDE}B`;
    const abc = `X:1\nT:${hostile}\nK:C\nCDE\nw:${hostile} two three\n`;
    const track = midi(
      { type: 'trackName', deltaTime: 0, meta: true, text: `A${ESCAPE}B` },
      sound('noteOn', 0),
      sound('noteOff', 480),
    );
    const melodies = [
      readAbc(utf8(abc), 'x.abc'),
      readMidi(track, 'x.mid'),
      readMusicXml(utf8(score(note(1), `A${OVERRIDE}B`)), 'x.xml'),
    ];
    for (const { title, notes } of melodies) {
      expect(title).toMatch(/^A(\[2J)?B$/);
      expect(notes.map(({ word }) => word ?? '').join()).not.toMatch(/[\p{Cc}\u202e]/u);
    }
  });
});

describe('a tune with very many faults', () => {
  it('names the first ten', () => {
    const { remarks } = readAbc(utf8(`X:1\nK:C\nCDE ${'?'.repeat(5000)}\n`), 'x.abc');
    expect(remarks).toHaveLength(11);
    expect(remarks.at(-1)).toBe('and 4990 more signs skipped');
  });
});

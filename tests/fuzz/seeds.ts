import { zipSync } from 'fflate';
import { type MidiEvent, writeMidi } from 'midi-file';
import { findPhrases } from '../../src/music/phrases.ts';
import type { Note } from '../../src/tab/note.ts';
import { edit, openEdits } from '../../src/take/edits/edits.ts';
import { setMusic } from '../../src/take/edits/set-music.ts';
import { hashTake, JOURNAL_FORMAT, JOURNAL_VERSION } from '../../src/take/files/journal.ts';
import { formatTake } from '../../src/take/format.ts';
import type { Take } from '../../src/take/schema.ts';
import { buildTake } from '../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleNote } from '../take/example.ts';

/** What the fuzzer starts from: valid files that contain most of what a reader knows. */

const HARP = { key: 'C', tuning: 'richter', temperament: 'equal', a4Hz: 440, confidence: 0.9 };
const CUSTOM = {
  layout: {
    id: 'mine',
    name: 'mine',
    blow: [0, 4, 7, 12, 16, 19, 24, 28, 31, 36],
    draw: [2, 7, 11, 14, 17, 21, 23, 26, 29, 33],
    labelSemitones: 0,
    labelSuffix: '',
  },
};

/** What is done to some notes: holes at once, a shake, slides, hands; and one that had been left out. */
const PLAYED: Readonly<Record<number, Partial<Note>>> = {
  0: { holes: [4, 5, 6] },
  2: { holes: [5, 6], shake: true, ornament: { kind: 'shake', notesPerSec: 9 } },
  4: { ornament: { kind: 'scoop', fromCents: -120, durationSec: 0.08 } },
  6: {
    ornament: { kind: 'vibrato', rateHz: 5, depthCents: 30 },
    ornaments: [
      { kind: 'vibrato', rateHz: 5, depthCents: 30 },
      { kind: 'fall', toCents: -150, durationSec: 0.1 },
    ],
  },
  8: { ornament: { kind: 'hand', changes: 3, rateHz: 4, depthDb: 6, brightnessDb: -3 } },
  9: { ornament: { kind: 'tremolo', rateHz: 5, depthDb: 4 } },
  11: { leftOutAs: 'doubtful' },
};

function exampleTake(): Take {
  const tabs = "4 -4 5 -5 6 -6 -3'' 4 -4 5 -5 6 -6 7 6o -2".split(' ');
  const notes = tabs.map((tab, i) =>
    exampleNote(tab, Number((0.5 + 0.4 * i + (i > 7 ? 1 : 0)).toFixed(2)), `n${i + 1}`, {
      midi: 60 + (i % 12),
      alternatives: [{ hole: 3, breath: 'blow', bend: 0, over: false, confidence: 0.03 }],
      leak: i % 5 === 2 ? { hole: 5, levelDb: -14, share: 0.4, kind: 'leak' } : null,
      tone: { attackSec: 0.02, levelSpreadDb: 2, brightness: 1.5 },
      partialsDb: [0, -3, -6, -9, -12, -15, -18, -21, -24, -27],
      flags: i === 3 ? ['doubtful-hole'] : [],
      ...PLAYED[i],
    }),
  );
  const take = buildTake(EXAMPLE_SOURCE, {
    harp: { ...HARP, alternatives: [{ key: 'G', tuning: 'richter', confidence: 0.1 }], custom: CUSTOM },
    notes,
    phrases: findPhrases(notes),
  });
  const heard = {
    ...take,
    title: 'Old Joe',
    advice: 'slower',
    leftOut: [{ onsetSec: 3.75, offsetSec: 3.85, f0Hz: 220, why: 'talk' as const }],
    phrases: take.phrases.map((phrase, i) => ({
      ...phrase,
      name: `part ${i + 1}`,
      advice: 'breathe before it',
    })),
  };
  const words = { text: 'Old Joe Clark he had a house\n\nsix-teen sto-ries high__ and more', language: null };
  return setMusic(heard, { beats: { metre: { count: 4, unit: 4 } }, words }).take;
}

const AT = '2026-01-01T00:00:00.000Z';
/** A take with everything that takes hold. */
export const TAKE: Take = exampleTake();

function edited(): { take: Take; lines: unknown[] } {
  const lines: unknown[] = [];
  let state = openEdits(TAKE);
  const [first, second, third] = TAKE.notes;
  for (const action of [
    { kind: 'move', id: first.id, edge: 'offset', toSec: first.offsetSec - 0.05 },
    { kind: 'delete', ids: [second.id] },
    { kind: 'accept', ids: [third.id] },
    { kind: 'harp', harp: { key: 'D', tuning: 'richter', temperament: 'equal', a4Hz: 440 } },
  ] as const) {
    const made = edit(state, action, { at: AT });
    if (made === null) continue;
    ({ state } = made);
    lines.push(made.edit);
  }
  return { take: state.take, lines };
}

const { take: editedTake, lines } = edited();
export const EDITED_TAKE: Take = editedTake;
/** The lines of a journal of that take, without their checksums. */
export const JOURNAL_LINES: readonly unknown[] = [
  { format: JOURNAL_FORMAT, version: JOURNAL_VERSION, take: hashTake(formatTake(TAKE)) },
  ...lines,
];

export const ABC_SEED =
  'X:1\nT:Tune\nM:4/4\nL:1/8\nQ:1/4=100\nK:Dmix\n|:"G"A>B (3cde {fg}f2-|f2 [Ace]2 !trill!z2 _B=c|1 d4:|2 e,,4|]\nw:one two-three _ * four|five\nV:2\nCDEF|\n';

const note = (content: string): string =>
  `<note><pitch><step>C</step><octave>4</octave></pitch><duration>2</duration><voice>1</voice>${content}</note>`;
export const MUSICXML_SEED = `<?xml version="1.0"?>
<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "partwise.dtd">
<score-partwise version="4.0"><work><work-title>Tune</work-title></work><part-list><score-part id="P1"/></part-list>
<part id="P1"><measure number="1"><attributes><divisions>2</divisions><key><fifths>-3</fifths><mode>minor</mode></key>
<time><beats>3</beats><beat-type>4</beat-type></time><transpose><chromatic>-2</chromatic></transpose></attributes>
<direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>90</per-minute></metronome></direction-type></direction>
${note('<tie type="start"/><lyric><syllabic>begin</syllabic><text>la</text></lyric>')}${note('<tie type="stop"/>')}
<note><chord/><pitch><step>E</step><alter>-1</alter><octave>4</octave></pitch><duration>2</duration></note>
<backup><duration>2</duration></backup><note><rest/><duration>2</duration><voice>2</voice></note></measure>
<measure number="2"><print new-system="yes"/>${note('')}<note><grace/></note><forward><duration>1</duration></forward>
<barline><repeat direction="backward"/></barline></measure></part></score-partwise>`;

/** A zipped score; not pressed, so that it is quickly made. */
export function zipped(score: string): Uint8Array {
  const bytesOf = (text: string): Uint8Array => new TextEncoder().encode(text);
  return zipSync(
    {
      'META-INF/container.xml': bytesOf(
        '<container><rootfiles><rootfile full-path="score.xml"/></rootfiles></container>',
      ),
      'score.xml': bytesOf(score),
    },
    { level: 0 },
  );
}

export const MXL_SEED: Uint8Array = zipped(MUSICXML_SEED);

function midi(format: 0 | 1, tracks: MidiEvent[][]): Uint8Array {
  const end: MidiEvent = { type: 'endOfTrack', deltaTime: 0, meta: true };
  const header = { format, numTracks: tracks.length, ticksPerBeat: 480 };
  return Uint8Array.from(writeMidi({ header, tracks: tracks.map((events) => [...events, end]) }));
}

const sounding = (noteNumber: number): MidiEvent[] => [
  { type: 'noteOn', deltaTime: 0, channel: 0, noteNumber, velocity: 80 },
  { type: 'noteOff', deltaTime: 240, channel: 0, noteNumber, velocity: 0 },
];
export const MIDI_SEEDS: readonly Uint8Array[] = [
  midi(0, [[60, 62, 64, 65].flatMap(sounding)]),
  midi(1, [
    [
      { type: 'trackName', deltaTime: 0, meta: true, text: 'Tune' },
      { type: 'setTempo', deltaTime: 0, meta: true, microsecondsPerBeat: 500_000 },
      {
        type: 'timeSignature',
        deltaTime: 0,
        meta: true,
        numerator: 6,
        denominator: 8,
        metronome: 36,
        thirtyseconds: 8,
      },
      { type: 'keySignature', deltaTime: 0, meta: true, key: -2, scale: 1 },
      { type: 'lyrics', deltaTime: 0, meta: true, text: 'la' },
    ],
    [60, 67, 72].flatMap(sounding),
  ]),
];

export const TUNING = {
  name: 'mine',
  blow: ['C4', 'E4', 'G4', 'C5', 'E5', 'G5', 'C6', 'E6', 'G6', 'C7'],
  draw: ['D4', 'G4', 'B4', 'D5', 'F5', 'A5', 'B5', 'D6', 'F6', 'A6'],
};

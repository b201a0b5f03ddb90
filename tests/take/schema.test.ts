import { describe, expect, it } from 'vitest';
import { ReedtraceError } from '../../src/errors.ts';
import { formatTake } from '../../src/take/format.ts';
import { checkTake, parseTake } from '../../src/take/parse.ts';
import type { Take } from '../../src/take/schema.ts';
import { buildTake } from '../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleFindings } from './example.ts';

const take = () =>
  buildTake(
    EXAMPLE_SOURCE,
    exampleFindings(["4 -4 -3''", '5'], {
      n2: {
        leak: { hole: 5, levelDb: -14.2 },
        intonation: null,
        alternatives: [{ hole: 3, breath: 'blow', bend: 0, over: false, confidence: 0.03 }],
        flags: ['doubtful-hole'],
      },
    }),
  );

// biome-ignore lint/suspicious/noExplicitAny: tests break takes in ways that types forbid
function broken(change: (take: any) => void): unknown {
  const copy = structuredClone(take());
  change(copy);
  return copy;
}

const syllable = (changes: object): object => ({
  verse: 1,
  text: 'oh',
  syllabic: 'single',
  noteId: 'n1',
  holds: 0,
  ...changes,
});

function failure(value: unknown): ReedtraceError {
  try {
    checkTake(value, 'x.take.json');
  } catch (error) {
    if (error instanceof ReedtraceError) return error;
    throw error;
  }
  throw new Error('was accepted');
}

describe('a take', () => {
  it('reads back as it was written', () => {
    expect(parseTake(formatTake(take()), 'x')).toEqual(take());
  });

  it.each([
    { kind: 'shake', notesPerSec: 12.5 },
    { kind: 'scoop', fromCents: -95, durationSec: 0.14 },
    { kind: 'fall', toCents: -180, durationSec: 0.2 },
    { kind: 'vibrato', rateHz: 5.5, depthCents: 28 },
    { kind: 'tremolo', rateHz: 5, depthDb: 6 },
    { kind: 'hand', changes: 6, rateHz: 1.5, depthDb: 8, brightnessDb: 10 },
    { kind: 'hand', changes: 1, depthDb: 8, brightnessDb: 10 },
  ] as const)('keeps an ornament of kind $kind', (ornament) => {
    const vibrato = { kind: 'vibrato', rateHz: 5.5, depthCents: 28 } as const;
    const findings = exampleFindings(['4 -4'], {
      n1: { ornament },
      n2: { ornament, ornaments: [ornament, vibrato] },
    });
    const made = buildTake(EXAMPLE_SOURCE, findings);
    expect(made.notes[0].ornament).toEqual(ornament);
    expect(parseTake(formatTake(made), 'x')).toEqual(made);
  });

  it('keeps fields that it does not know, at every depth', () => {
    const added = broken((t) => {
      t.mood = 'blue';
      t.source.microphone = 'phone';
      t.harp.maker = null;
      t.notes[0].vibrato = { rateHz: 5 };
      t.notes[1].leak.breath = 'draw';
      t.notes[1].alternatives[0].why = ['gap'];
      t.beats = { tempo: 92 };
      t.phrases[0].name = 'A';
      t.words = [{ verse: 1, text: 'old', syllabic: 'single', noteId: 'n1', holds: 0, sung: true }];
      t.edits = [{ at: '2026-01-01T00:00:00Z', kind: 'hole' }];
    });
    expect(parseTake(formatTake(checkTake(added, 'x')), 'x')).toEqual(added);
  });

  it.each<[string, (take: Take & Record<string, never>) => void, string]>([
    ['a hole that no harp has', (t) => Object.assign(t.notes[0], { hole: 11 }), 'notes[0].hole'],
    ['a breath that is none', (t) => Object.assign(t.notes[0], { breath: 'hum' }), 'notes[0].breath'],
    ['a missing field', (t) => Reflect.deleteProperty(t.notes[2], 'cents'), 'notes[2].cents'],
    ['more than certain', (t) => Object.assign(t.notes[0], { confidence: 1.2 }), 'notes[0].confidence'],
    ['no frequency', (t) => Object.assign(t.notes[0], { f0Hz: 0 }), 'notes[0].f0Hz'],
    [
      'a key that clears the screen',
      (t) => Object.assign(t.harp, { key: 'C\u001b[2J' }),
      'harp.key: holds control',
    ],
    ['an id used twice', (t) => Object.assign(t.notes[1], { id: 'n1' }), "notes[1].id: 'n1' is used twice"],
    [
      'an end before the start',
      (t) => Object.assign(t.notes[0], { offsetSec: 0.1 }),
      'notes[0]: ends before',
    ],
    ['notes out of order', (t) => t.notes.reverse(), 'notes[1]: begins before'],
    [
      'a phrase beyond the notes',
      (t) => Object.assign(t.phrases[1], { lastNote: 4 }),
      'phrases[1]: notes 3 to 4 of 4',
    ],
    [
      'an ornament that is none',
      (t) => Object.assign(t.notes[0], { ornament: { kind: 'trill' } }),
      'notes[0].ornament',
    ],
    [
      'a vibrato without its depth',
      (t) => Object.assign(t.notes[0], { ornament: { kind: 'vibrato', rateHz: 5 } }),
      'notes[0].ornament.depthCents',
    ],
    [
      'a scoop from another octave',
      (t) => Object.assign(t.notes[0], { ornament: { kind: 'scoop', fromCents: -1200, durationSec: 0.1 } }),
      'notes[0].ornament.fromCents: -1200; the minimum is -500',
    ],
    [
      'a tremolo as quick as a tone',
      (t) => Object.assign(t.notes[0], { ornament: { kind: 'tremolo', rateHz: 440, depthDb: 3 } }),
      'notes[0].ornament.rateHz: 440; the limit is 50',
    ],
    [
      'a list of one ornament',
      (t) => Object.assign(t.notes[0], { ornaments: [{ kind: 'shake', notesPerSec: 12 }] }),
      'notes[0].ornaments: 1 entry; the minimum is 2',
    ],
    [
      'a time of a year',
      (t) => Object.assign(t.notes[3], { offsetSec: 3e7 }),
      'notes[3].offsetSec: 30000000; the limit is 86400',
    ],
    [
      'a time that no clock has',
      (t) => Object.assign(t.source, { durationSec: 1e308 }),
      'source.durationSec: 1e+308; the limit is 86400',
    ],
    [
      'a pitch of a thousand millions',
      (t) => Object.assign(t.notes[0], { midi: 1e9 }),
      'notes[0].midi: 1000000000; the limit is 135',
    ],
    [
      'a verse of ten millions',
      (t) => Object.assign(t, { words: [syllable({ verse: 1e7 })] }),
      'words[0].verse: 10000000; the limit is 100',
    ],
    [
      'a verse beyond counting',
      (t) => Object.assign(t, { words: [syllable({ verse: 2 ** 53 })] }),
      'words[0].verse',
    ],
    [
      'a syllable as long as a book',
      (t) => Object.assign(t, { words: [syllable({ text: 'o'.repeat(5000) })] }),
      'words[0].text: 5000 characters; the limit is 1000',
    ],
    [
      'ticks of a million to the beat',
      (t) => Object.assign(t.beats.notes![3], { atTicks: 1e6, lengthTicks: 8 }),
      'beats.notes[3]: ends on beat 83334 of 1624 at most',
    ],
    [
      'ticks beyond any tune',
      (t) => Object.assign(t.beats.notes![3], { lengthTicks: 1e9 }),
      'beats.notes[3].lengthTicks: 1000000000; the limit is 12000000',
    ],
    [
      'beats that go back',
      (t) => Object.assign(t.beats, { gridSec: [1, 2, 1.5] }),
      'beats.gridSec[2]: comes before the previous beat',
    ],
    [
      'a repeat of a phrase that is not there',
      (t) => Object.assign(t.phrases[0], { like: { phrase: 7, differences: [] } }),
      'phrases[0].like.phrase: 7 is not an earlier phrase',
    ],
    [
      'differences that point nowhere',
      (t) =>
        Object.assign(t.phrases[1], {
          like: { phrase: 0, differences: [{ kind: 'changed', note: 3, other: 400 }] },
        }),
      'phrases[1].like.differences[0]: note 400 of 4',
    ],
  ])('with %s is called damaged, and the place is named', (_what, change, place) => {
    const error = failure(broken(change as (take: unknown) => void));
    expect(error.code).toBe('E_TAKE_INVALID');
    expect(error.message).toContain("'x.take.json' is a damaged take (");
    expect(error.message).toContain(place);
  });

  it('from a newer version is refused as newer, whatever else it holds', () => {
    const error = failure({ format: 'reedtrace-take', version: 2, notes: 'another shape' });
    expect(error.code).toBe('E_TAKE_NEWER');
    expect(error.message).toBe(
      "'x.take.json' is a take of version 2, and this reedtrace reads up to version 1",
    );
    expect(error.fix).toContain('update reedtrace');
  });

  it.each([
    [null],
    [7],
    [[]],
    [{}],
    [{ format: 'other', version: 1 }],
    [{ format: 'reedtrace-take', version: 0 }],
  ])('is not %j', (value) => {
    const error = failure(value);
    expect(error.code).toBe('E_TAKE_INVALID');
    expect(error.message).toContain("'x.take.json' is not a Reedtrace take");
  });

  it.each([
    ['', "'x' is not JSON (it is empty)"],
    ['{"format": "reedtrace-ta', "'x' is not JSON ("],
    ['RIFF$\0\0\0WAVE', "'x' is not JSON (it does not begin with {)"],
    [`RIFF$${'['.repeat(100)}`, "'x' is not JSON (it does not begin with {)"],
  ])('is not the text %j', (text, message) => {
    expect(() => parseTake(text, 'x')).toThrow(message);
  });

  it.each([
    ['lists', '['.repeat(50_000)],
    ['objects', '{"a":'.repeat(50_000)],
    [
      'lists in a field that nobody knows',
      `{"format": "reedtrace-take", "mood": ${'['.repeat(90)}${']'.repeat(90)}}`,
    ],
  ])('%s inside each other beyond the limit are not a take', (_, text) => {
    expect(() => parseTake(text, 'x')).toThrow(/levels; the limit is 64/);
  });

  it('reads brackets in a text as text', () => {
    const spoken = broken((t) => Object.assign(t, { mood: `${'['.repeat(200)}"\\` }));
    expect(parseTake(JSON.stringify(spoken), 'x')).toEqual(spoken);
  });

  it('may begin with a byte order mark, as some editors write', () => {
    expect(parseTake(`\uFEFF${formatTake(take())}`, 'x')).toEqual(take());
  });
});

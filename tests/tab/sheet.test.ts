import fc from 'fast-check';
import stringWidth from 'string-width';
import { describe, expect, it } from 'vitest';
import type { Note } from '../../src/tab/note.ts';
import { formatSheet, type SheetOptions } from '../../src/tab/sheet.ts';
import { formatTime } from '../../src/tab/sheet-time.ts';
import { formatTabNote, TAB_STYLES } from '../../src/tab/text.ts';
import { parseTab } from '../../src/tab/text-file.ts';
import type { Findings } from '../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleFindings } from '../take/example.ts';

const sheet = (findings: Findings, options: Partial<SheetOptions> = {}) =>
  formatSheet({ source: EXAMPLE_SOURCE, ...findings }, { columns: 80, style: 'signs', ...options });

const PHRASES = ["4 -4 5 -4 4 -3''", '6 -6 6 5'];

describe('formatSheet', () => {
  it("says how many notes can't be judged", () => {
    const found = exampleFindings(PHRASES);
    const notes = found.notes.map((note, i) => (i < 2 ? { ...note, flags: ['too-noisy-to-judge'] } : note));
    expect(sheet({ ...found, notes })).toMatch(
      /2 notes are too noisy for pitch and second reeds to be judged\.\n$/,
    );
  });

  it('prints one line per phrase, with its time, between the harp and the closing line', () => {
    expect(sheet(exampleFindings(PHRASES))).toBe(`\
take.wav: C harp, richter tuning, equal temperament, A4 = 440 Hz
4 blow · -4 draw · -3'' bend, one ' a semitone · 6o overblow · -7o overdraw

[0:00]  4  -4  5  -4  4  -3''
[0:03]  6  -6  6  5

10 notes in 2 phrases, 96 % sure on average; none doubtful.
`);
  });

  it('names sections above their first line, and reads back as tab', () => {
    const found = exampleFindings(PHRASES);
    const phrases = found.phrases.map((phrase, i) => ({ ...phrase, name: ['verse 1', '4 -4'][i] }));
    const text = sheet({ ...found, phrases });
    expect(text).toContain('\nverse 1\n[0:00]  4  -4  5');
    expect(text).toContain('\n\n# 4 -4\n[0:03]  6');
    const read = parseTab(text, 'signs').phrases.map((items) =>
      items.map((item) => (item.kind === 'note' ? formatTabNote(item.note) : item.kind)).join(' '),
    );
    expect(read).toEqual(PHRASES);
  });

  it('writes ornaments as signs, or in words if they have none, and reads back as tab', () => {
    const scoop = { kind: 'scoop', fromCents: -80, durationSec: 0.12 } as const;
    const vibrato = { kind: 'vibrato', rateHz: 5.2, depthCents: 35 } as const;
    const findings = exampleFindings(PHRASES, {
      n1: { ornament: vibrato, ornaments: [scoop, vibrato] },
      n2: { ornament: { kind: 'hand', changes: 4, rateHz: 1.8, depthDb: 9, brightnessDb: 8 }, cents: -31 },
      n6: { ornament: { kind: 'fall', toCents: -140, durationSec: 0.2 } },
      n7: { ornament: { kind: 'tremolo', rateHz: 5, depthDb: 6 } },
      n8: { holes: [6, 7], shake: true, ornament: { kind: 'shake', notesPerSec: 12 } },
    });
    const text = sheet(findings);
    expect(text).toBe(`\
take.wav: C harp, richter tuning, equal temperament, A4 = 440 Hz
4 blow · -4 draw · -3'' bend, one ' a semitone · 6o overblow · -7o overdraw
-4w5 a shake between the two
/-4 scooped into · -4~ vibrato · -4\\ falls off
"flat", "sharp" in cents

[0:00]  /4~  -4       5  -4  4  -3''\\
             wah
             flat 31
[0:03]  6        -6w7  6  5
        tremolo

10 notes in 2 phrases, 96 % sure on average; none doubtful.
`);
    const [first, second] = parseTab(text).phrases;
    expect(first.map((item) => ('ornaments' in item ? item.ornaments : undefined))).toEqual([
      ['scoop', 'vibrato'],
      undefined,
      undefined,
      undefined,
      undefined,
      ['fall'],
    ]);
    expect(second).toHaveLength(4);
  });

  it('puts doubt and faults in words under the note, and points out the least sure first', () => {
    const findings = exampleFindings(PHRASES, {
      n2: {
        confidence: 0.6,
        alternatives: [{ hole: 3, breath: 'blow', bend: 0, over: false, confidence: 0.3 }],
        cents: -24.3,
      },
      n3: { leak: { hole: 6, levelDb: -14 } },
      n8: { confidence: 0.5 },
    });
    expect(sheet(findings)).toBe(`\
take.wav: C harp, richter tuning, equal temperament, A4 = 440 Hz
4 blow · -4 draw · -3'' bend, one ' a semitone · 6o overblow · -7o overdraw
"or …?" doubtful hole · "note?" may be none, a piece of one, or several ·
  "flat", "sharp" in cents · "leak #5" hole 5 sounds too

[0:00]  4  -4       5        -4  4  -3''
           or 3?    leak #6
           flat 24
[0:03]  6  -6     6  5
           note?

10 notes in 2 phrases, of which about 1 may be wrong. Look first at [0:04] -6
  (50 %), [0:00] -4 (60 %).
`);
  });

  it('wraps a long phrase to the width, with later lines indented', () => {
    const findings = exampleFindings(["4 -4 5 -5 6 -6 -7 7 8 -8 9 -9 10 -10 10'"]);
    expect(sheet(findings, { columns: 30 }).split('\n\n')[1]).toBe(`\
[0:00]  4  -4  5  -5  6  -6
[0:02]    -7  7  8  -8  9  -9
[0:05]    10  -10  10'`);
  });

  it('says how a harp was detected, and leaves out very unlikely runners-up', () => {
    const findings = exampleFindings(PHRASES);
    const alternatives = [
      { key: 'low F', tuning: 'richter', confidence: 0.06 },
      { key: 'G', tuning: 'country', confidence: 0.02 },
      { key: 'A', tuning: 'richter', confidence: 0.004 },
    ];
    const found = { ...findings, harp: { ...findings.harp, confidence: 0.916, alternatives } };
    expect(sheet(found).split('\n')[1]).toBe(
      'Harp detected from the notes, 92 % sure; next low F 6 %, G country 2 %.',
    );
    const unsure = { ...found, harp: { ...found.harp, confidence: 0.5, alternatives: [] } };
    expect(sheet(unsure, { columns: 200 }).split('\n')[1]).toBe(
      'Harp detected from the notes, 50 % sure; no other comes close. Name it with `--harp` if you know it.',
    );
  });

  it('says how to name the runner-up if the harp is uncertain, and that it is a guess if others are nearly as likely', () => {
    const findings = exampleFindings(PHRASES);
    const said = (confidence: number, key: string, tuning: string): string | undefined => {
      const alternatives = [{ key, tuning, confidence: 0.9 - confidence }];
      const found = { ...findings, harp: { ...findings.harp, confidence, alternatives } };
      return sheet(found, { columns: 300 }).split('\n')[1];
    };
    expect(said(0.8, 'low F', 'richter')).toBe(
      'Harp detected from the notes, 80 % sure; next low F 10 %. If it was another, name it, such as with `--harp "low F"`.',
    );
    expect(said(0.6, 'G', 'country')).toBe(
      'The notes fit several harps: C 60 %, G country 30 %. The tab is for the first. If you played another, name it, such as with `--harp G --tuning country`.',
    );
  });

  it('never claims to be 100 % sure of what is not certain', () => {
    const findings = exampleFindings(['4'], { n1: { confidence: 0.9999 } });
    expect(sheet(findings)).toContain('1 note in 1 phrase, 99 % sure on average;');
  });

  // 20 cents and the double for bends: facts gathered for the project, "common practice, no source".
  it.each([
    ['4', 20, ''],
    ['4', 21, 'sharp 21'],
    ['-4', -21, 'flat 21'],
    ["-4'", -25, ''],
    ["-4'", -26, 'flat 26'],
    ['6o', 26, 'sharp 26'],
  ])('calls %s at %d cents "%s"', (tab, cents, word) => {
    const under =
      sheet(exampleFindings([tab], { n1: { cents } }))
        .split('\n\n')[1]
        .split('\n')[1] ?? '';
    expect(under.trim()).toBe(word);
  });

  it('leaves out a very faint second reed', () => {
    const leaking = (levelDb: number) =>
      sheet(exampleFindings(['4'], { n1: { leak: { hole: 5, levelDb } } }));
    expect(leaking(-20)).toContain('leak #5');
    expect(leaking(-20.1)).not.toContain('leak');
  });

  it('does not judge the tuning of a note that was too short to measure', () => {
    expect(sheet(exampleFindings(['4'], { n1: { cents: 45, intonation: null } }))).not.toContain('sharp');
  });

  it('prints notes outside phrases on lines of their own', () => {
    const findings = { ...exampleFindings(['4 -4 5 -5 6']), phrases: [{ firstNote: 1, lastNote: 2 }] };
    expect(
      sheet(findings)
        .split('\n\n')[1]
        .split('\n')
        .map((line) => line.slice(8)),
    ).toEqual(['4', '-4  5', '-5  6']);
  });

  it('says so when there are no notes', () => {
    expect(sheet(exampleFindings([]))).toMatch(/\n\nNo notes\.\n$/);
  });

  it('colours only what words or brackets say as well', () => {
    const findings = exampleFindings(PHRASES, { n2: { confidence: 0.5 } });
    const paint = { faint: (text: string) => `<${text}>`, alert: (text: string) => `!${text}!` };
    expect(sheet(findings, { paint }).replace(/[<>!]/g, '')).toBe(sheet(findings));
    expect(sheet(findings, { paint })).toContain('<[0:00]>  4  -4     5');
    expect(sheet(findings, { paint })).toContain('!           note?!');
  });

  it('keeps within any width that fits its longest word, and every note in order', () => {
    const tabs = ['4', '-4', "-3'''", '6o', '-10', "10''"];
    fc.assert(
      fc.property(
        fc.array(fc.array(fc.constantFrom(...tabs), { minLength: 1, maxLength: 30 }), {
          minLength: 1,
          maxLength: 4,
        }),
        fc.integer({ min: 24, max: 130 }),
        (phrases, columns) => {
          const text = sheet(exampleFindings(phrases.map((phrase) => phrase.join(' '))), { columns });
          for (const line of text.split('\n')) expect(stringWidth(line)).toBeLessThanOrEqual(columns);
          const printed = text.split('\n').filter((line) => /^\[[\d:]+\]/.test(line));
          expect(printed.flatMap((line) => line.trim().split(/\s+/).slice(1))).toEqual(phrases.flat());
        },
      ),
    );
  });
});

describe('a printed sheet', () => {
  it('reads back as a tab file: words around and below the notes are not taken for tab', () => {
    const tabs = ['4', '-4', "-3'''", '6o', '-10', "10''"];
    const fault = fc.constantFrom<Partial<Note>>(
      {},
      { cents: 9 * 24 },
      { leak: { hole: 5, levelDb: -10 } },
      { confidence: 0.5, alternatives: [{ hole: 3, breath: 'blow', bend: 0, over: false, confidence: 0.4 }] },
      { confidence: 0.5, leak: { hole: 9, levelDb: -10 }, cents: -30 },
    );
    const played = fc.array(fc.tuple(fc.constantFrom(...tabs), fault), { minLength: 1, maxLength: 25 });
    fc.assert(
      fc.property(
        played,
        fc.integer({ min: 30, max: 100 }),
        fc.constantFrom(...TAB_STYLES),
        (notes, columns, style) => {
          const changes = Object.fromEntries(notes.map(([, change], index) => [`n${index + 1}`, change]));
          const findings = exampleFindings([notes.map(([tab]) => tab).join(' ')], changes);
          const read = parseTab(sheet(findings, { columns, style }), style);
          const written = read.phrases
            .flat()
            .map((item) => (item.kind === 'note' ? formatTabNote(item.note) : item.kind));
          expect(written).toEqual(notes.map(([tab]) => tab));
        },
      ),
    );
  });
});

describe('formatTime', () => {
  it.each([
    [0, '[0:00]'],
    [59.99, '[0:59]'],
    [60, '[1:00]'],
    [3599.5, '[59:59]'],
    [3723, '[1:02:03]'],
  ])('writes %d s as %s', (sec, text) => {
    expect(formatTime(sec)).toBe(text);
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { LAYOUTS } from '../../src/harp/layouts.ts';
import { playableNotes } from '../../src/harp/playable.ts';
import type { TabNote } from '../../src/tab/tab-note.ts';
import {
  formatPlayedNote,
  formatTabNote,
  legend,
  ornamentLegend,
  parseTabToken,
  readOrnaments,
  TAB_STYLES,
} from '../../src/tab/text.ts';

const harp = (tuning: string) => playableNotes({ key: 'C', tuning, temperament: 'equal', a4Hz: 440 });
const tabNote = ({ hole, breath, bend, over }: TabNote): TabNote => ({ hole, breath, bend, over });

describe('tab notes as text', () => {
  it.each([
    [4, 'blow', 0, false, '4', '4B', '4↑'],
    [4, 'draw', 0, false, '-4', '4D', '4↓'],
    [3, 'draw', 3, false, "-3'''", "3D'''", "3↓'''"],
    [10, 'blow', 2, false, "10''", "10B''", "10↑''"],
    [6, 'blow', 0, true, '6o', '6OB', '6↑o'],
    [7, 'draw', 0, true, '-7o', '7OD', '7↓o'],
  ] as const)('hole %i %s bend %i over %s', (hole, breath, bend, over, signs, letters, arrows) => {
    // Notations: common practice, no source
    const note = { hole, breath, bend, over };
    expect(TAB_STYLES.map((style) => formatTabNote(note, style))).toEqual([signs, letters, arrows]);
  });

  it.each([
    { holes: [4, 5], holeBends: [1, 0], breath: 'draw', texts: ["-4'+5", "4'+5D", "4'+5↓"] },
    { holes: [5, 6], holeBends: [0, 1], breath: 'draw', texts: ["-5+6'", "5+6'D", "5+6'↓"] },
    { holes: [2, 3], holeBends: [0, 2], breath: 'draw', texts: ["-2+3''", "2+3''D", "2+3''↓"] },
    { holes: [8, 9], holeBends: [1, 0], breath: 'blow', texts: ["8'+9", "8'+9B", "8'+9↑"] },
  ] as const)('$texts have the bend beside its hole', ({ texts, ...several }) => {
    const note = { ...several, hole: several.holes[0], bend: several.holeBends[0], over: false };
    expect(TAB_STYLES.map((style) => formatTabNote(note, style))).toEqual(texts);
    expect(TAB_STYLES.map((style, i) => parseTabToken(texts[i], style))).toEqual([note, note, note]);
  });

  it.each(["-4w5'", "-4'w5", '-4+5o', "-5'+4'", "-4'5", "4'+5D'"])('%s is no note', (text) => {
    expect(TAB_STYLES.map((style) => parseTabToken(text, style))).toEqual(TAB_STYLES.map(() => undefined));
  });

  it.each(TAB_STYLES)(
    'read back all 42 notes of a Richter harp and all notes of every other tuning (%s)',
    (style) => {
      expect(harp('richter')).toHaveLength(42);
      for (const { id } of LAYOUTS) {
        const written = new Set<string>();
        for (const note of harp(id)) {
          const text = formatTabNote(note, style);
          expect(parseTabToken(text, style)).toEqual(tabNote(note));
          written.add(text);
        }
        expect(written.size).toBe(harp(id).length);
      }
    },
  );

  it('are never read as another note or another style', () => {
    const note = fc.constantFrom(...harp('richter')).map(tabNote);
    const style = fc.constantFrom(...TAB_STYLES);
    fc.assert(
      fc.property(note, style, style, (written, from, to) => {
        const read = parseTabToken(formatTabNote(written, from), to);
        expect(read).toEqual(from === to ? written : undefined);
      }),
    );
  });

  it.each([
    ['-3’’', 'signs', { hole: 3, breath: 'draw', bend: 2, over: false }],
    ['−3′′′', 'signs', { hole: 3, breath: 'draw', bend: 3, over: false }],
    ['-3"', 'signs', { hole: 3, breath: 'draw', bend: 2, over: false }],
    ['-3"\'', 'signs', { hole: 3, breath: 'draw', bend: 3, over: false }],
    ['-3bb', 'signs', { hole: 3, breath: 'draw', bend: 2, over: false }],
    ['+4', 'signs', { hole: 4, breath: 'blow', bend: 0, over: false }],
    ['6°', 'signs', { hole: 6, breath: 'blow', bend: 0, over: true }],
    ['3d"', 'letters', { hole: 3, breath: 'draw', bend: 2, over: false }],
    ['6ob', 'letters', { hole: 6, breath: 'blow', bend: 0, over: true }],
  ] as const)('accepts %s in %s', (text, style, note) => {
    expect(parseTabToken(text, style)).toEqual(note);
  });

  it.each(['0', '11', '-0', '04', '45', '4+', '--4', "'4", '', 'x', '4 5', "6o'", '4.5'])(
    'refuses %s',
    (text) => {
      for (const style of TAB_STYLES) expect(parseTabToken(text, style)).toBeUndefined();
    },
  );

  it('explains each style', () => {
    expect(legend('signs')).toBe(
      "4 blow · -4 draw · -3'' bend, one ' a semitone · 6o overblow · -7o overdraw",
    );
    expect(legend('letters')).toBe(
      "4B blow · 4D draw · 3D'' bend, one ' a semitone · 6OB overblow · 7OD overdraw",
    );
    expect(legend('arrows')).toContain('4↑ blow · 4↓ draw');
  });
});

describe('ornaments in tab', () => {
  const draw4: TabNote = { hole: 4, breath: 'draw', bend: 0, over: false };
  const scoop = { kind: 'scoop', fromCents: -90, durationSec: 0.12 } as const;
  const vibrato = { kind: 'vibrato', rateHz: 5, depthCents: 30 } as const;
  const fall = { kind: 'fall', toCents: -150, durationSec: 0.2 } as const;
  const tremolo = { kind: 'tremolo', rateHz: 5, depthDb: 6 } as const;

  it('are written before and after the note', () => {
    // Slide signs as in guitar tab and jazz parts: common practice, no source
    expect(formatPlayedNote({ ...draw4, ornament: scoop })).toBe('/-4');
    expect(formatPlayedNote({ ...draw4, ornament: vibrato }, 'letters')).toBe('4D~');
    expect(formatPlayedNote({ ...draw4, ornament: fall }, 'arrows')).toBe('4↓\\');
    expect(formatPlayedNote({ ...draw4, ornament: scoop, ornaments: [scoop, vibrato, fall] })).toBe('/-4~\\');
    expect(formatPlayedNote({ ...draw4, ornament: tremolo })).toBe('-4');
    expect(formatPlayedNote(draw4)).toBe('-4');
  });

  it.each([
    ['/-4', '-4', ['scoop']],
    ["-3''~", "-3''", ['vibrato']],
    ['6o\\', '6o', ['fall']],
    ['/-4\\~', '-4', ['scoop', 'vibrato', 'fall']],
    ['4', '4', []],
  ])('%s is read', (text, tab, ornaments) => {
    expect(readOrnaments(text)).toEqual({ tab, ornaments });
  });

  it.each(['//4', '4~~', '4/', '~4', '\\4', '/', '4\\\\', '4~5'])('%s is not one', (text) => {
    expect(readOrnaments(text)).toBeUndefined();
  });

  it('are explained where they occur', () => {
    expect(ornamentLegend([draw4, { ...draw4, ornament: fall }, { ...draw4, ornament: scoop }])).toBe(
      '/-4 scooped into · -4\\ falls off',
    );
    expect(ornamentLegend([{ ...draw4, ornament: vibrato }], 'letters')).toBe('4D~ vibrato');
    expect(ornamentLegend([{ ...draw4, ornament: tremolo }])).toBe('');
  });
});

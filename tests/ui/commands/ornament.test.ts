import { describe, expect, it } from 'vitest';
import { Samples } from '../../../src/audio/samples.ts';
import { ornamentsOf, type Vibrato } from '../../../src/tab/ornament.ts';
import { checkTake } from '../../../src/take/parse.ts';
import { buildTake } from '../../../src/take/take.ts';
import { reduce } from '../../../src/ui/commands/reduce.ts';
import { Ears } from '../../../src/ui/state/ears.ts';
import { type Effect, openState, type UiState } from '../../../src/ui/state/state.ts';
import { printLines } from '../../../src/ui/view/line.ts';
import { screenLines } from '../../../src/ui/view/screen.ts';
import { EXAMPLE_SOURCE } from '../../take/example.ts';
import { HARP, sounding } from '../example-take.ts';

const AT = '2026-11-25T12:00:00.000Z';
const RATE = 22_050;
const NOTE = sounding('-4', 0.5, 2, 'n1');
const NOTES = [NOTE, sounding('5', 2.2, 2.6, 'n2')];

function open(ears: Ears | null = null): UiState {
  const source = { ...EXAMPLE_SOURCE, durationSec: 3 };
  const phrases = [{ firstNote: 0, lastNote: 1 }];
  const take = buildTake(source, {
    harp: { ...HARP, confidence: 1, alternatives: [] },
    notes: NOTES,
    phrases,
  });
  return { ...openState('a.take.json', take, {}, true), ears };
}

function press(state: UiState, ...keys: string[]): { state: UiState; effects: readonly Effect[] } {
  let effects: readonly Effect[] = [];
  let now = state;
  for (const key of keys) ({ state: now, effects } = reduce(now, { kind: 'key', key, at: AT }));
  return { state: now, effects };
}
const kinds = (state: UiState, at = 0) =>
  ornamentsOf(state.edited.take.notes[at]).map(({ kind, unmeasured }) => (unmeasured ? `${kind}?` : kind));
const shown = (state: UiState) =>
  // biome-ignore lint/suspicious/noControlCharactersInRegex: the styles are taken off
  printLines(screenLines(state), { colour: false, unicode: true }).replace(/\u001b\[[\d;]*m/g, '');

/** The first note with a vibrato of 6 Hz and 30 cents, as six partials whose phase is the integral of the frequency [calc]. */
function vibrating(): Ears {
  const sound = new Float32Array(3 * RATE);
  let phase = 0;
  for (let i = 0.5 * RATE; i < 2 * RATE; i++) {
    const sec = i / RATE - 0.5;
    phase += (2 * Math.PI * NOTE.f0Hz * 2 ** ((30 / 1200) * Math.sin(2 * Math.PI * 6 * sec))) / RATE;
    const level = 0.2 * Math.min(1, sec / 0.03, (1.5 - sec) / 0.03);
    for (let k = 1; k <= 6; k++) sound[i] += (level / k) * Math.sin(k * phase);
  }
  return new Ears(Samples.from(sound, RATE));
}

describe('an ornament of a note', () => {
  it('can be set and removed, and is put in order', () => {
    const scooped = press(open(), 'O', 's');
    expect(scooped.effects).toMatchObject([{ kind: 'journal', edit: { what: 'ornaments' } }]);
    expect(scooped.state.mode.kind).toBe('notes');
    expect(scooped.state.message?.text).toContain("the recording doesn't show how much");
    const more = press(scooped.state, 'O', 'f', 'O', 'v').state;
    expect(kinds(more)).toEqual(['scoop?', 'vibrato?', 'fall?']);
    expect(kinds(press(more, 'O', 's').state)).toEqual(['vibrato?', 'fall?']);
    expect(kinds(press(more, 'O', '0').state)).toEqual([]);
    expect(checkTake(more.edited.take, 'a.take.json').notes).toHaveLength(2);
  });

  it('shows in the tab and beside the note, and can be searched for', () => {
    const { state } = press(open(), 'right', 'O', 's', 'O', 'v', 'home');
    expect(shown(state)).toContain('/5~');
    expect(shown(press(state, 'right').state)).toContain('scoop, as you say');
    expect(press(state, '/', ...'scoop', 'enter').state.at).toBe(1);
    expect(shown(press(open(), 'O').state)).toContain('which ornament for it? none so far');
  });

  it('has one kind if two names mean the same', () => {
    const { state } = press(open(), 'O', 't', 'O', 'h');
    expect(kinds(state)).toEqual(['hand?']);
    expect(kinds(press(state, 'O', 't').state)).toEqual(['tremolo?']);
  });

  it('can be undone and redone', () => {
    const { state } = press(open(), 'O', 'v', 'u');
    expect(kinds(state)).toEqual([]);
    expect(kinds(press(state, 'r').state)).toEqual(['vibrato?']);
  });

  it('is unchanged if the dialog is cancelled', () => {
    expect(press(open(), 'O', 'escape').effects).toEqual([]);
    expect(press(open(), 'O', 'q').state.mode.kind).toBe('notes');
    expect(press(open(), 'O', '0').state.message?.text).toBe('it has no ornament');
  });

  it('has its measures from the recording', () => {
    const { state } = press(open(vibrating()), 'O', 'v');
    expect(state.message?.text).toBe('vibrato, as heard');
    const vibrato = ornamentsOf(state.edited.take.notes[0])[0] as Vibrato;
    expect(vibrato).toMatchObject({ kind: 'vibrato' });
    expect(vibrato.unmeasured).toBeUndefined();
    expect(vibrato.rateHz).toBeCloseTo(6, 0);
    expect(vibrato.depthCents).toBeGreaterThan(22);
    expect(vibrato.depthCents).toBeLessThan(36);
  });

  it('stays with its part of a split note', () => {
    const { state } = press(open(), 'O', 's', 'O', 'v', 'O', 'f', 's');
    expect([kinds(state, 0), kinds(state, 1)]).toEqual([
      ['scoop?', 'vibrato?'],
      ['vibrato?', 'fall?'],
    ]);
    expect(kinds(press(state, 'home', 'm').state)).toEqual(['scoop?', 'vibrato?', 'fall?']);
  });

  it('is set for a whole range at once, and removed if all have it', () => {
    const one = press(open(), 'O', 's').state;
    const asked = press(one, 'shift-right', 'O').state;
    expect(shown(asked)).toContain('which ornament for these 2 notes? so far scoop of 1');
    const { state, effects } = press(asked, 's');
    expect(effects).toHaveLength(1);
    expect([kinds(state, 0), kinds(state, 1)]).toEqual([['scoop?'], ['scoop?']]);
    // The range stays, for the next.
    const none = press(state, 'O', 's').state;
    expect([kinds(none, 0), kinds(none, 1)]).toEqual([[], []]);
    const undone = press(none, 'u', 'u').state;
    expect([kinds(undone, 0), kinds(undone, 1)]).toEqual([['scoop?'], []]);
    const mixed = press(one, 'shift-right', 'O', 't', 'O', '0').state;
    expect([kinds(mixed, 0), kinds(mixed, 1)]).toEqual([[], []]);
  });

  it('says for how many notes of a range the recording shows it', () => {
    const { state } = press(open(vibrating()), 'shift-right', 'O', 'v');
    expect(state.message?.text).toBe('vibrato; the recording shows how much in 1 of 2');
    expect([kinds(state, 0), kinds(state, 1)]).toEqual([['vibrato'], ['vibrato?']]);
  });
});

import { arrange } from '../../src/arrange/arrange.ts';
import { tuneFromMelody } from '../../src/arrange/tune.ts';
import { referenceFromMelody, referenceFromTake } from '../../src/check/align/reference.ts';
import { collectBends } from '../../src/check/bends/collect.ts';
import { practicePlan, tuneOnHarp } from '../../src/check/bends/practice.ts';
import { summariseBends } from '../../src/check/bends/summary.ts';
import { checkTake } from '../../src/check/check-take.ts';
import { judge } from '../../src/check/judging/judge.ts';
import { scoreOf } from '../../src/check/score.ts';
import { FORMATS, type FormatName } from '../../src/export/formats.ts';
import { hardSpots } from '../../src/export/hard-spots.ts';
import { toldOnce, withoutTalk } from '../../src/export/retold.ts';
import { buildScore } from '../../src/export/score.ts';
import type { Melody } from '../../src/music/melody.ts';
import { formatSheet } from '../../src/tab/sheet.ts';
import type { Take } from '../../src/take/schema.ts';
import { reduce } from '../../src/ui/commands/reduce.ts';
import { KeyParser } from '../../src/ui/input.ts';
import { openState, type UiState } from '../../src/ui/state/state.ts';
import { screenLines } from '../../src/ui/view/screen.ts';
import { TAKE } from './seeds.ts';

/** Passes what was read to what the commands do with it, as a fault may only show there. */

const TOLERANCES = { bendCents: 20, timeSec: 0.05, leakDb: -20, strict: false };
const OPTIONS = { style: 'signs', columns: 80, lengths: true, asPlayed: false } as const;
const OTHER_OPTIONS = {
  style: 'letters',
  columns: 40,
  lengths: false,
  asPlayed: true,
  repeats: 'once',
  decimal: 'comma',
} as const;
const SIZE = { columns: 80, rows: 24 };
const AT = '2026-01-01T00:00:00.000Z';
/** Formats that are quickly written. */
const QUICK: readonly FormatName[] = ['tab', 'abc', 'midi', 'musicxml', 'csv', 'bends'];
/** Control characters but line breaks and tabs, and marks of writing direction. */
const STEERING =
  // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for
  /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]/;

function mustNotSteer(text: string, what: string): void {
  const at = text.search(STEERING);
  if (at >= 0) throw new Error(`${what} holds ${JSON.stringify(text.slice(Math.max(0, at - 20), at + 20))}`);
}

/** A tune is compared with a take. @throws Error when texts of it would steer a terminal, or the mark makes no sense */
export function useMelody(melody: Melody): void {
  mustNotSteer(`${melody.title ?? ''}${melody.notes.map(({ word }) => word ?? '').join('')}`, 'a tune');
  if (melody.notes.length > 2_000) return;
  const reference = referenceFromMelody('fuzz', melody, null);
  const { score } = scoreOf(judge(TAKE, reference, TOLERANCES), reference, TOLERANCES);
  if (!(score >= 0 && score <= 100)) throw new Error(`a mark of ${score}`);
  if (melody.notes.length > 0 && melody.notes.length <= 200) arrange(tuneFromMelody(melody));
}

/** A take is printed, exported, checked and shown. */
export async function useTake(take: Take): Promise<void> {
  if (take.notes.length === 0) return;
  formatSheet(take, { style: 'signs', columns: 80 });
  const score = buildScore(take, 'Fuzz');
  for (const format of QUICK) {
    for (const options of [OPTIONS, OTHER_OPTIONS]) {
      const written = await FORMATS[format].write(score, options);
      if (typeof written === 'string') mustNotSteer(written, format);
    }
  }
  const reference = referenceFromTake('fuzz', take);
  scoreOf(judge(take, reference, TOLERANCES), reference, TOLERANCES);
  checkTake(TAKE, reference, { tolerances: TOLERANCES });
  const { bends } = collectBends([{ name: 'fuzz', take, date: null }]);
  practicePlan(
    summariseBends(bends, TOLERANCES.bendCents),
    TOLERANCES.bendCents,
    tuneOnHarp(reference.notes, take),
  );
  hardSpots(score);
  formatSheet(toldOnce(withoutTalk(take)), { style: 'arrows', columns: 40 });
  screenLines(openState('fuzz', take, {}, true, SIZE));
}

/** A player's keys on the correction screen, drawn after each piece. */
export function pressKeys(typed: string): void {
  const keys = new KeyParser();
  let state: UiState = openState('fuzz', TAKE, {}, true, SIZE);
  for (const key of [...keys.push(typed), ...keys.flush()]) {
    const step = reduce(state, { kind: 'key', key, at: AT });
    state = step.state;
    if (step.effects.some(({ kind }) => kind === 'quit' || kind === 'stop')) break;
    for (const effect of step.effects) {
      if (effect.kind === 'read-notes') state = reduce(state, { kind: 'read-notes', at: AT }).state;
    }
  }
  for (const line of screenLines(state)) mustNotSteer(line.map(({ text }) => text).join(''), 'the screen');
}

import { HOLES } from '../harp/layouts.ts';
import type { TabNote } from './tab-note.ts';

/** The ways of writing tab: `signs` 4 -4, `letters` 4B 4D, `arrows` 4↑ 4↓. */
export const TAB_STYLES = ['signs', 'letters', 'arrows'] as const;
export type TabStyle = (typeof TAB_STYLES)[number];

const BLOW_ARROW = '↑';
const DRAW_ARROW = '↓';

/** Writes one note: `-3'''`, `3D'''` or `3↓'''`; overbends `6o`, `6OB` or `6↑o`. */
export function formatTabNote(note: TabNote, style: TabStyle = 'signs'): string {
  const draw = note.breath === 'draw';
  const ticks = "'".repeat(note.bend);
  switch (style) {
    case 'signs':
      return `${draw ? '-' : ''}${note.hole}${ticks}${note.over ? 'o' : ''}`;
    case 'letters':
      return `${note.hole}${note.over ? 'O' : ''}${draw ? 'D' : 'B'}${ticks}`;
    case 'arrows':
      return `${note.hole}${draw ? DRAW_ARROW : BLOW_ARROW}${ticks}${note.over ? 'o' : ''}`;
  }
}

/*
 * What is read is a little wider than what is written: typographic minus and apostrophes, " for two semitones,
 * + before a blow note, b for each semitone in the signs style, ° for an overbend. A style is never guessed:
 * some books write draw bare and blow with a sign.
 */
const PATTERNS: Readonly<Record<TabStyle, RegExp>> = {
  signs: /^(?<sign>[-+−–]?)(?<hole>\d{1,2})(?:(?<ticks>['"]+|b+)|(?<over>[oO°]))?$/,
  letters: /^(?<hole>\d{1,2})(?:(?<over>O)(?<overSign>[BD])|(?<sign>[BD])(?<ticks>['"]*))$/i,
  arrows: /^(?<hole>\d{1,2})(?<sign>[↑↓])(?:(?<ticks>['"]+)|(?<over>[oO°]))?$/,
};
const DRAW_SIGNS = new Set(['-', '−', '–', 'D', 'd', DRAW_ARROW]);

/**
 * Reads one note in the given style.
 * @returns `undefined` when it is not one, or names a hole outside 1 to 10
 */
export function parseTabToken(text: string, style: TabStyle = 'signs'): TabNote | undefined {
  const straight = text.replace(/[\u2018\u2019\u2032]/g, "'").replace(/[\u201c\u201d\u2033]/g, '"');
  const groups = PATTERNS[style].exec(straight)?.groups;
  if (!groups) return undefined;
  const hole = Number(groups.hole);
  if (hole < 1 || hole > HOLES || groups.hole.startsWith('0')) return undefined;
  const sign = groups.overSign ?? groups.sign;
  let bend = 0;
  for (const tick of groups.ticks ?? '') bend += tick === '"' ? 2 : 1;
  return {
    hole,
    breath: DRAW_SIGNS.has(sign) ? 'draw' : 'blow',
    bend,
    over: groups.over !== undefined,
  };
}

/** One line that explains the signs of a style. */
export function legend(style: TabStyle = 'signs'): string {
  const show = (hole: number, breath: 'blow' | 'draw', bend = 0, over = false) =>
    formatTabNote({ hole, breath, bend, over }, style);
  return [
    `${show(4, 'blow')} blow`,
    `${show(4, 'draw')} draw`,
    `${show(3, 'draw', 2)} bend, one ' a semitone`,
    `${show(6, 'blow', 0, true)} overblow`,
    `${show(7, 'draw', 0, true)} overdraw`,
  ].join(' · ');
}

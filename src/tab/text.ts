import { HOLES } from '../harp/layouts.ts';
import { type Ornamented, type OrnamentKind, ornamentsOf } from './ornament.ts';
import type { TabNote } from './tab-note.ts';

/** The ways of writing tab: `signs` 4 -4, `letters` 4B 4D, `arrows` 4↑ 4↓. */
export const TAB_STYLES = ['signs', 'letters', 'arrows'] as const;
export type TabStyle = (typeof TAB_STYLES)[number];

const BLOW_ARROW = '↑';
const DRAW_ARROW = '↓';

const TOGETHER = '+';
const IN_TURN = 'w';

/**
 * Writes one note: `-3'''`, `3D'''` or `3↓'''`; overbends `6o`, `6OB` or `6↑o`; holes at once `-4+5`, one of them bent
 * `-4'+5`, a shake `-4w5`.
 */
export function formatTabNote(note: TabNote, style: TabStyle = 'signs'): string {
  const draw = note.breath === 'draw';
  const several = note.holes?.map((hole, i) => `${hole}${ticksOf(note.holeBends?.[i] ?? 0)}`);
  const holes = several?.join(note.shake === true ? IN_TURN : TOGETHER) ?? note.hole;
  const ticks = several === undefined ? ticksOf(note.bend) : '';
  switch (style) {
    case 'signs':
      return `${draw ? '-' : ''}${holes}${ticks}${note.over ? 'o' : ''}`;
    case 'letters':
      return `${holes}${note.over ? 'O' : ''}${draw ? 'D' : 'B'}${ticks}`;
    case 'arrows':
      return `${holes}${draw ? DRAW_ARROW : BLOW_ARROW}${ticks}${note.over ? 'o' : ''}`;
  }
}

const ticksOf = (bend: number): string => "'".repeat(bend);

/** The ornaments that tab has a sign for, as wind players and guitarists write them (common practice, no source). */
const ORNAMENT_SIGNS = {
  scoop: { before: '/', after: '' },
  vibrato: { before: '', after: '~' },
  fall: { before: '', after: '\\' },
} as const satisfies Partial<Record<OrnamentKind, { before: string; after: string }>>;
/** An ornament that tab has a sign for. */
export type TabOrnament = keyof typeof ORNAMENT_SIGNS;
const TAB_ORNAMENTS = Object.keys(ORNAMENT_SIGNS) as TabOrnament[];

/** The tab of a note between the signs of its ornaments: `/-4` scooped into, `-4~` vibrato, `-4\\` falls off. */
export function signOrnaments(tab: string, ornaments: readonly OrnamentKind[]): string {
  const signs = TAB_ORNAMENTS.filter((kind) => ornaments.includes(kind)).map((kind) => ORNAMENT_SIGNS[kind]);
  return `${signs.map(({ before }) => before).join('')}${tab}${signs.map(({ after }) => after).join('')}`;
}

/** Writes one note with the signs of its ornaments. */
export function formatPlayedNote(note: TabNote & Ornamented, style: TabStyle = 'signs'): string {
  return signOrnaments(
    formatTabNote(note, style),
    ornamentsOf(note).map(({ kind }) => kind),
  );
}

const ORNAMENTED = /^(?<before>\/?)(?<tab>[^/~\\]+)(?<after>[~\\]{0,2})$/;

/** Separates the tab of a note from the signs of its ornaments; undefined when a sign is out of place. */
export function readOrnaments(text: string): { tab: string; ornaments: TabOrnament[] } | undefined {
  const { before, tab, after } = ORNAMENTED.exec(text)?.groups ?? {};
  if (tab === undefined || (after.length === 2 && after[0] === after[1])) return undefined;
  const ornaments = TAB_ORNAMENTS.filter((kind) => {
    const sign = ORNAMENT_SIGNS[kind];
    return sign.before === '' ? after.includes(sign.after) : sign.before === before;
  });
  return { tab, ornaments };
}

/*
 * Reading accepts a little more than is written: typographic minus and apostrophes, " for two semitones, + before a
 * blow note, b for each semitone in the signs style, ° for an overbend. A style is never guessed: some books write draw
 * bare and blow with a sign.
 */
const ONE = String.raw`(?<one>\d{1,2})`;
const several = (ticks: string): string =>
  String.raw`(?<several>\d{1,2}(?:${ticks}(?:\+\d{1,2}${ticks}){1,4}|w\d{1,2}))`;
const PATTERNS: Readonly<Record<TabStyle, RegExp>> = {
  signs: new RegExp(
    `^(?<sign>[-+−–]?)(?:${several(`['"b]*`)}|${ONE}(?:(?<ticks>['"]+|b+)|(?<over>[oO°]))?)$`,
  ),
  letters: new RegExp(
    `^(?:${several(`['"]*`)}(?<severalSign>[BD])|${ONE}(?:(?<over>O)(?<overSign>[BD])|(?<sign>[BD])(?<ticks>['"]*)))$`,
    'i',
  ),
  arrows: new RegExp(
    `^(?:${several(`['"]*`)}(?<severalSign>[↑↓])|${ONE}(?<sign>[↑↓])(?:(?<ticks>['"]+)|(?<over>[oO°]))?)$`,
  ),
};
const DRAW_SIGNS = new Set(['-', '−', '–', 'D', 'd', DRAW_ARROW]);

/**
 * Reads one note in the given style.
 * @returns `undefined` when it is not a note, names a hole outside 1 to 10, names several holes that are not in ascending
 * order, or is a shake of holes that are bent or not adjacent
 */
export function parseTabToken(text: string, style: TabStyle = 'signs'): TabNote | undefined {
  const straight = text.replace(/[\u2018\u2019\u2032]/g, "'").replace(/[\u201c\u201d\u2033]/g, '"');
  const groups = PATTERNS[style].exec(straight)?.groups;
  if (!groups) return undefined;
  const shake = groups.several?.toLowerCase().includes(IN_TURN) ?? false;
  const parts = (groups.several ?? groups.one).toLowerCase().split(/[+w]/);
  const names = parts.map((part) => part.replace(/\D/g, ''));
  const holes = names.map(Number);
  if (holes.some((hole, i) => hole < 1 || hole > HOLES || names[i].startsWith('0'))) return undefined;
  if (holes.some((hole, i) => i > 0 && hole <= holes[i - 1])) return undefined;
  if (shake && holes[1] - holes[0] !== 1) return undefined;
  const sign = groups.severalSign ?? groups.overSign ?? groups.sign;
  const bends = groups.several === undefined ? [bendOf(groups.ticks ?? '')] : parts.map(bendOf);
  return {
    hole: holes[0],
    breath: DRAW_SIGNS.has(sign) ? 'draw' : 'blow',
    bend: bends[0],
    over: groups.over !== undefined,
    ...(holes.length > 1 ? { holes } : {}),
    ...(holes.length > 1 && bends.some((bend) => bend > 0) ? { holeBends: bends } : {}),
    ...(shake ? { shake } : {}),
  };
}

/** Semitones: ' and b are one, " is two; everything else counts for nothing. */
function bendOf(ticks: string): number {
  let bend = 0;
  for (const tick of ticks) bend += tick === '"' ? 2 : tick === "'" || tick === 'b' ? 1 : 0;
  return bend;
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

/** One line that explains holes that sound together, if any of the notes have them; else empty. */
export function severalLegend(notes: readonly TabNote[], style: TabStyle = 'signs'): string {
  const both = { hole: 4, breath: 'draw', bend: 0, over: false, holes: [4, 5] } as const;
  const show = (shake: boolean) => formatTabNote({ ...both, shake }, style);
  return [
    ...(notes.some(({ holes, shake }) => holes !== undefined && shake !== true)
      ? [`${show(false)} both holes at once`]
      : []),
    ...(notes.some(({ holeBends }) => holeBends !== undefined)
      ? [`${formatTabNote({ ...both, bend: 1, holeBends: [1, 0] }, style)} the same, hole 4 bent`]
      : []),
    ...(notes.some(({ shake }) => shake === true) ? [`${show(true)} a shake between the two`] : []),
  ].join(' · ');
}

const ORNAMENT_MEANINGS: Readonly<Record<TabOrnament, string>> = {
  scoop: 'scooped into',
  vibrato: 'vibrato',
  fall: 'falls off',
};

/** One line that explains the signs of ornaments that occur in the notes; else empty. */
export function ornamentLegend(notes: readonly (TabNote & Ornamented)[], style: TabStyle = 'signs'): string {
  const used = new Set(notes.flatMap((note) => ornamentsOf(note).map(({ kind }) => kind)));
  const tab = formatTabNote({ hole: 4, breath: 'draw', bend: 0, over: false }, style);
  return TAB_ORNAMENTS.filter((kind) => used.has(kind))
    .map((kind) => `${signOrnaments(tab, [kind])} ${ORNAMENT_MEANINGS[kind]}`)
    .join(' · ');
}

import type { Breath } from '../../src/harp/types.ts';

/** What can be planted in a note besides other holes. */
export type PlantedKind = 'scoop' | 'fall' | 'vibrato' | 'tremolo' | 'hand';

/** One step of a tune: a note on a hole, a rest, or the end of a phrase. */
export type TuneStep =
  | {
      readonly kind: 'note';
      readonly hole: number;
      readonly breath: Breath;
      readonly bend: number;
      readonly over: boolean;
      readonly beats: number;
      /** `~`: bent to without a new attack, or slurred from the note before. */
      readonly joined: boolean;
      /** Other holes that sound with it, or the other hole of a shake. */
      readonly beside?: readonly number[];
      readonly shake?: boolean | undefined;
      /** Its ornaments. */
      readonly ornaments?: readonly PlantedKind[];
    }
  | { readonly kind: 'rest'; readonly beats: number }
  | { readonly kind: 'phrase' };

const NOTE =
  /^(?<joined>~?)(?<scoop>\/?)(?<draw>-?)(?<holes>\d{1,2}(?:(?:\+\d{1,2})+|w\d{1,2})?)(?<over>o?)(?<bend>'*)(?<marks>[~\\^*]*)(?::(?<beats>\d*\.?\d+))?$/;
const MARKS: Readonly<Record<string, PlantedKind>> = {
  '/': 'scoop',
  '~': 'vibrato',
  '\\': 'fall',
  '^': 'tremolo',
  '*': 'hand',
};
const REST = /^r(?::(\d*\.?\d+))?$/;

/**
 * Reads a tune in tab with lengths: `4` blow, `-4` draw, `'` a semitone of bend, `o` overbend, `~` joined to the
 * note before, `:1.5` length in beats (1 when left out), `r:1` rest, `|` end of a phrase. `3+4` holes at once, of which the
 * first is bent in `-4+5'`, `-4w5` a shake, `/-4` scooped into, `-4~` vibrato, `-4\\` falls off, `-4^` tremolo, `-4*` hands that open and close.
 * @throws Error naming the sign that is none of these
 */
export function parseTune(tab: string): TuneStep[] {
  return tab
    .trim()
    .split(/\s+/)
    .map((sign): TuneStep => {
      if (sign === '|') return { kind: 'phrase' };
      const rest = REST.exec(sign);
      if (rest) return { kind: 'rest', beats: Number(rest[1] ?? 1) };
      const note = NOTE.exec(sign)?.groups;
      if (!note) throw new Error(`'${sign}' is not a note, rest or phrase mark`);
      const [hole, ...beside] = note.holes.split(/[+w]/).map(Number);
      const ornaments = [...note.scoop, ...note.marks].map((mark) => MARKS[mark]);
      return {
        kind: 'note',
        joined: note.joined !== '',
        breath: note.draw === '-' ? 'draw' : 'blow',
        hole,
        over: note.over === 'o',
        bend: note.bend.length,
        beats: Number(note.beats ?? 1),
        ...(beside.length > 0 ? { beside } : {}),
        ...(note.holes.includes('w') ? { shake: true } : {}),
        ...(ornaments.length > 0 ? { ornaments } : {}),
      };
    });
}

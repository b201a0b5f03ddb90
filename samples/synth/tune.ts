import type { Breath } from '../../src/harp/types.ts';

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
    }
  | { readonly kind: 'rest'; readonly beats: number }
  | { readonly kind: 'phrase' };

const NOTE = /^(~?)(-?)(\d{1,2})(o?)('*)(?::(\d*\.?\d+))?$/;
const REST = /^r(?::(\d*\.?\d+))?$/;

/**
 * Reads a tune in tab with lengths: `4` blow, `-4` draw, `'` a semitone of bend, `o` overbend, `~` joined to the
 * note before, `:1.5` length in beats (1 when left out), `r:1` rest, `|` end of a phrase.
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
      const note = NOTE.exec(sign);
      if (!note) throw new Error(`'${sign}' is not a note, rest or phrase mark`);
      return {
        kind: 'note',
        joined: note[1] === '~',
        breath: note[2] === '-' ? 'draw' : 'blow',
        hole: Number(note[3]),
        over: note[4] === 'o',
        bend: note[5].length,
        beats: Number(note[6] ?? 1),
      };
    });
}

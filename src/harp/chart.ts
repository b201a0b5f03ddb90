import { HOLES } from './layouts.ts';
import type { PlayableNote } from './types.ts';

/** One row of a harp chart, top to bottom: blown notes above the hole numbers, drawn notes below. */
export interface ChartRow {
  /** `overblow`, `bend 2`, `blow`, `hole`, `draw`, `overdraw`. */
  readonly label: string;
  readonly kind: 'over' | 'bend' | 'reed' | 'hole';
  readonly cells: readonly (PlayableNote | undefined)[];
}

/**
 * The notes of a harp as rows of ten cells around the row of hole numbers: overblows and blow bends above, deepest
 * outermost; draw bends and overdraws below. Rows without a note are left out.
 */
export function chartRows(notes: readonly PlayableNote[]): ChartRow[] {
  const cells = (breath: 'blow' | 'draw', bend: number, over: boolean) =>
    Array.from({ length: HOLES }, (_, i) =>
      notes.find((n) => n.hole === i + 1 && n.breath === breath && n.bend === bend && n.over === over),
    );
  const deepest = Math.max(...notes.map((note) => note.bend));
  const side = (breath: 'blow' | 'draw'): ChartRow[] => {
    const bends = Array.from({ length: deepest }, (_, i) => ({
      label: `bend ${i + 1}`,
      kind: 'bend' as const,
      cells: cells(breath, i + 1, false),
    }));
    return [
      { label: breath, kind: 'reed', cells: cells(breath, 0, false) },
      ...bends,
      { label: `over${breath}`, kind: 'over', cells: cells(breath, 0, true) },
    ];
  };
  const hole: ChartRow = { label: 'hole', kind: 'hole', cells: new Array(HOLES).fill(undefined) };
  return [...side('blow').reverse(), hole, ...side('draw')].filter(
    (row) => row.kind === 'hole' || row.cells.some((cell) => cell !== undefined),
  );
}

const LABEL_WIDTH = 9;
const CELL_WIDTH = 7;

/** The chart as plain text, 79 columns wide, without colour; `show` returns at most six characters per cell. */
export function chartText(rows: readonly ChartRow[], show: (note: PlayableNote) => string): string {
  const lines = rows.map((row) => {
    const cells = row.cells.map((note, i) => {
      const text = row.kind === 'hole' ? `[${i + 1}]` : note ? show(note) : '';
      const left = Math.ceil((CELL_WIDTH - text.length) / 2);
      return text.padStart(text.length + left).padEnd(CELL_WIDTH);
    });
    return `${row.label.padEnd(LABEL_WIDTH)}${cells.join('')}`.trimEnd();
  });
  return `${lines.join('\n')}\n`;
}

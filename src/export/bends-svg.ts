import { median } from '../statistics.ts';
import { DOUBTFUL_BELOW, type Note } from '../tab/note.ts';
import { formatTabNote, type TabStyle } from '../tab/text.ts';
import { BEND_TOLERANCE_CENTS } from '../tab/tolerance.ts';
import { bendsChart } from './bends-chart.ts';
import type { Score } from './score.ts';

interface Row {
  readonly tab: string;
  readonly notes: readonly Note[];
  readonly medianCents: number;
}

/** The bends and overbends of a take by kind, hole by hole; doubtful notes are left out. */
function rowsOf(notes: readonly Note[], style: TabStyle): Row[] {
  const kinds = new Map<string, Note[]>();
  const bent = notes.filter(
    (note) => (note.bend > 0 || note.over) && note.holes === undefined && note.confidence >= DOUBTFUL_BELOW,
  );
  const ordered = bent.toSorted(
    (a, b) => a.hole - b.hole || a.bend - b.bend || Number(a.over) - Number(b.over),
  );
  for (const note of ordered) {
    const tab = formatTabNote(note, style);
    kinds.set(tab, [...(kinds.get(tab) ?? []), note]);
  }
  return [...kinds].map(([tab, same]) => ({
    tab,
    notes: same,
    medianCents: median(same.map((note) => note.cents)),
  }));
}

/**
 * The bends of a take compared with their targets, as a stand-alone SVG picture (see `bendsChart`).
 * @returns null when the take holds no bend that is sure
 */
export function writeBendsSvg({ title, take }: Score, options: { readonly style: TabStyle }): string | null {
  const rows = rowsOf(take.notes, options.style);
  if (rows.length === 0) return null;
  return bendsChart(
    rows.map((row) => ({
      name: row.tab,
      words: inWords(row),
      medianCents: row.medianCents,
      notes: row.notes.map(({ cents, onsetSec }) => ({
        cents,
        told: `${signed(Math.round(cents))} cents at ${onsetSec.toFixed(1)} s`,
      })),
    })),
    {
      title: `${title}: bends against their targets`,
      toleranceCents: BEND_TOLERANCE_CENTS,
      left: 'flat',
      right: 'sharp',
    },
  );
}

function inWords({ notes, medianCents }: Row): string {
  const cents = Math.round(medianCents);
  const where = cents === 0 ? 'on target' : `${Math.abs(cents)} ${cents < 0 ? 'flat' : 'sharp'}`;
  return `${notes.length === 1 ? 'once' : `${notes.length} times`}, ${where}`;
}

function signed(cents: number): string {
  return cents > 0 ? `+${cents}` : cents < 0 ? `−${Math.abs(cents)}` : '0';
}

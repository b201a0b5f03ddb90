import { chartRows } from '../../harp/chart.ts';
import { noteName } from '../../harp/names.ts';
import { soundingNotes } from '../../harp/playable.ts';
import type { PlayableNote } from '../../harp/types.ts';
import { sameTab, type TabNote } from '../../tab/tab-note.ts';
import { escapeHtml } from '../../text/html.ts';
import type { Score } from '../score.ts';

/** The name of a note in `data-tab`, whatever the style of the tab. */
export function tabId({ hole, breath, bend, over }: TabNote): string {
  return `${breath === 'draw' ? 'd' : 'b'}${hole}${'x'.repeat(bend)}${over ? 'o' : ''}`;
}

/** The harp as a small table; the notes of the tune stand out, and the one that sounds lights up. */
export function harpHtml(score: Score): string {
  const { harp, notes, tonic } = score;
  if (harp.length === 0) return '';
  const sounding = notes.flatMap(({ played }) => soundingNotes(harp, played));
  const used = (note: PlayableNote) => sounding.some((each) => sameTab(each, note));
  const rows = chartRows(harp).filter(
    ({ kind, cells }) => kind === 'hole' || kind === 'reed' || cells.some((note) => note && used(note)),
  );
  const lines = rows.map(({ kind, label, cells }) => {
    const tag = kind === 'hole' ? 'th' : 'td';
    const inside = Array.from({ length: 10 }, (_, i) => {
      if (kind === 'hole') return `<th scope="col">${i + 1}</th>`;
      const note = cells[i];
      if (note === undefined || (kind !== 'reed' && !used(note))) return `<${tag}></${tag}>`;
      const name = escapeHtml(noteName(note.midi, tonic).replace(/\d+$/, ''));
      return `<td class="cell${used(note) ? ' used' : ''}" data-tab="${tabId(note)}">${name}</td>`;
    });
    return `<tr class="${kind}"><th scope="row">${label}</th>${inside.join('')}</tr>`;
  });
  return `<table class="harp"><caption>The notes on the harp</caption><tbody>${lines.join('')}</tbody></table>`;
}

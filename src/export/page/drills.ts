import { findPlayable } from '../../harp/playable.ts';
import { sameTab } from '../../tab/tab-note.ts';
import { formatTabNote, type TabStyle } from '../../tab/text.ts';
import { escapeHtml } from '../../text/html.ts';
import type { Score } from '../score.ts';
import { printed } from '../sheet/system-block.ts';

/**
 * Exercises for each bend that no earlier tune on the page had: hear it, reach it from the plain note, answer it. All
 * by ear; nothing is measured.
 */
export function drillsHtml({ notes, harp, take }: Score, style: TabStyle, before: readonly Score[]): string {
  const known = before
    .filter((other) => other.take.harp.key === take.harp.key && other.take.harp.tuning === take.harp.tuning)
    .flatMap((other) => other.notes.map(({ played }) => played));
  const bends = notes
    .map(({ played }) => played)
    .filter((bend) => !known.some((other) => sameTab(other, bend)))
    .filter(({ bend }, i, all) => bend > 0 && all.findIndex((other) => sameTab(other, all[i])) === i);
  const rows = bends.flatMap((bend) => {
    const target = findPlayable(harp, bend);
    const plain = findPlayable(harp, { ...bend, bend: 0, over: false });
    if (target === undefined || plain === undefined) return [];
    const tab = printed(formatTabNote(bend, style));
    const button = (kind: string, text: string) =>
      `<button type="button" class="drill" data-kind="${kind}" data-hz="${target.f0Hz.toFixed(2)}" data-plain="${plain.f0Hz.toFixed(2)}" aria-label="${escapeHtml(`${text}: ${tab}`)}">${text}</button>`;
    return [
      `<li><b>${escapeHtml(tab)}</b><span>${button('target', 'Hear it')}${button('glide', 'From the plain note')}${button('answer', 'Hear, then hold')}</span></li>`,
    ];
  });
  if (rows.length === 0) return '';
  return `<section class="drills screen" aria-label="Bends by ear"><h3>Bends by ear</h3>
<p class="soft">Hear the bend in tune, bend down to it from the plain note, then hold it in the silence. Let your ear judge.</p>
<ul>${rows.join('')}</ul></section>`;
}

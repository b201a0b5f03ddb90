import { withArticle } from '../text/article.ts';
import type { Note } from './note.ts';
import { isDoubtful } from './remarks.ts';
import { formatTime } from './sheet-time.ts';
import { formatTabNote, type TabStyle } from './text.ts';

/** How many notes the reader is told to look at. */
const LOOK_FIRST = 3;
/** Below this confidence, a detected harp is named as a condition. */
export const SURE_HARP = 0.9;
/** Keeps words on one line when wrapping; printed as an ordinary space. */
export const TIE = '\u00a0';

/** A share as a whole percentage; 100 only for what is certain. */
export function percent(share: number): string {
  return `${share < 1 ? Math.min(99, Math.round(100 * share)) : 100}${TIE}%`;
}

/** What the sentence about how sure a tab is needs. */
interface Claimed {
  readonly notes: readonly Note[];
  readonly harp: { readonly key: string; readonly confidence: number };
}

/**
 * How many notes may be wrong in any way (not there, not one note, another hole), as the sum of their doubts, and where
 * to look first. It continues a sentence that begins with the number of notes.
 */
export function suretyInWords({ notes, harp }: Claimed, style: TabStyle): string {
  const wrong = Math.round(notes.reduce((sum, { confidence }) => sum + 1 - confidence, 0));
  const harpName = withArticle(`${harp.key} harp`).replaceAll(' ', TIE);
  const condition = harp.confidence < SURE_HARP ? `, if it is ${harpName}` : '';
  const doubtful = notes.filter(isDoubtful).sort((a, b) => a.confidence - b.confidence);
  const first = doubtful
    .slice(0, LOOK_FIRST)
    .map(
      (note) => `${formatTime(note.onsetSec)} ${formatTabNote(note, style)} (${percent(note.confidence)})`,
    );
  const look = first.length === 0 ? '' : ` Look first at ${first.join(', ')}.`;
  if (wrong === 0) {
    const sure = notes.reduce((sum, note) => sum + note.confidence, 0) / notes.length;
    return `, ${percent(sure)} sure on average${condition}${look === '' ? '; none doubtful.' : `.${look}`}`;
  }
  const where = first.length === 0 && wrong < notes.length ? ', though none stands out' : '';
  return `, of which about ${wrong} may be wrong${condition}${where}.${look}`;
}

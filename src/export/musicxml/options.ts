import type { TabStyle } from '../../tab/text.ts';
import { xmlCharacters } from '../../text/xml.ts';
import type { Bar } from '../notation/bars.ts';
import type { ScoreNote } from '../score.ts';

export interface MusicXmlOptions {
  readonly style: TabStyle;
  /** Who the tune is by; null or missing for nothing. */
  readonly by?: string | null;
  /** A part of the tune for the engraver, without tab, words and tempo; the whole tune if omitted. */
  readonly part?: EngravedPart;
}

/** Some bars of a tune, to be engraved separately. */
interface EngravedPart {
  readonly bars: readonly Bar[];
  /** Whether they begin the tune. */
  readonly first: boolean;
  /** Text as wide as what will be placed under a note. */
  readonly spaceFor: (note: ScoreNote) => string;
}

/** Id of a note in the document; the later signs of a tied note have none. */
export function noteElementId(index: number): string {
  return `note${index}`;
}

/** Ampersands are escaped here, since the writer leaves what looks like an entity (`&A;`). */
export function clean(text: string): string {
  return xmlCharacters(text).replaceAll('&', '&amp;');
}

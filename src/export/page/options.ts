import type { ContourPoint } from '../../measure/pitch-contour.ts';
import type { Mp3 } from '../../sound/mp3.ts';
import type { TabStyle } from '../../tab/text.ts';
import type { Score } from '../score.ts';
import type { Engraving } from '../sheet/engraving.ts';
import type { TabPlace } from '../sheet/system-block.ts';
import type { PageFindings } from './findings.ts';

/** The recording as a page embeds it. */
export interface PageSound extends Mp3 {
  /** The measured pitch over time, by note. */
  readonly contours: readonly (readonly ContourPoint[])[];
}

/** The teacher's recording, and where each line of the tune is in it; null for lines that it lacks. */
export interface TeacherSound {
  readonly name: string;
  readonly sound: Mp3;
  readonly lines: readonly ({ readonly fromSec: number; readonly toSec: number } | null)[];
}

export interface PageOptions {
  readonly style: TabStyle;
  /** Where tab is placed below the staff; in a row if omitted. */
  readonly place?: TabPlace;
  /** Null leaves out the recording and the measured pitch; the page then plays the tab. */
  readonly sound: PageSound | null;
  /** The staff; null leaves it out. */
  readonly staff: Engraving | null;
  /** What `check` found; null when nothing was checked. */
  readonly findings: PageFindings | null;
  /** Who the tune is by; null or missing for nothing. */
  readonly by?: string | null;
  /** What the teacher says about each line, the first at 0. */
  readonly advice?: ReadonlyMap<number, string>;
  readonly teacher?: TeacherSound | null;
  /** What the player should know about the piece before playing it; null or missing for nothing. */
  readonly about?: string | null;
  /** False leaves out doubts and faults, as on the page of a lesson. */
  readonly faults?: boolean;
}

/** One tune, or one way of playing it, on a page. */
export interface PagePiece extends PageOptions {
  readonly score: Score;
}

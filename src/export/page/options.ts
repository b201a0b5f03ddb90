import type { ContourPoint } from '../../measure/pitch-contour.ts';
import type { Mp3 } from '../../sound/mp3.ts';
import type { TabStyle } from '../../tab/text.ts';
import type { Score } from '../score.ts';
import type { Engraving } from '../sheet/engraving.ts';
import type { TabPlace } from '../sheet/system-block.ts';
import type { PageFindings } from './findings.ts';

/** The recording as a page embeds it. */
export interface PageSound extends Mp3 {
  /** By note: the measured pitch over time. */
  readonly contours: readonly (readonly ContourPoint[])[];
}

/** The teacher's recording beside the pupil's, and where in it each line of the tune is; null where it isn't. */
export interface TeacherSound {
  readonly name: string;
  readonly sound: Mp3;
  readonly lines: readonly ({ readonly fromSec: number; readonly toSec: number } | null)[];
}

export interface PageOptions {
  readonly style: TabStyle;
  /** Where tab stands below the staff; in a row if omitted. */
  readonly place?: TabPlace;
  /** Null leaves the recording and measured contours out: the tab itself is the sound then. */
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
  /** False leaves out what was in doubt or out of tune, as on the page of a lesson. */
  readonly faults?: boolean;
}

/** One tune, or one way of playing it, on a page. */
export interface PagePiece extends PageOptions {
  readonly score: Score;
}

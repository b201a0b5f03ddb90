import type { SoundEvent } from '../analysis/events.ts';
import type { Samples } from '../audio/samples.ts';
import type { PlayableNote } from '../harp/types.ts';
import type { HoleReading } from '../tab/holes.ts';
import type { NoteLeak } from '../tab/note.ts';
import { ECHO_SEC, EchoCurve, type EchoPoint } from './echo.ts';
import { HeldSpectrum } from './held-spectrum.ts';
import { type CombFinding, ReedComb } from './reed-comb.ts';

/** Weaker than this nothing is reported: breath, rooms and codecs leave as much. */
const WEAKEST_DB = -26;
/** From this level on a reed further off than the next hole is looked for: it is meant, or a split gone wrong. */
const MEANT_DB = -10;
/** Holes that a chord or a split spans to one side. */
const WIDEST_HOLES = 4;
/** How far the visible partials must stand above the noise in the mean, how many of them, and a lone one. */
const LEAST_RISE_DB = 11;
const LEAST_RISEN_SHARE = 0.6;
const LONE_RISE_DB = 18;
/** A reed sounds along with the note; what comes and goes within it by more than this is another note or its echo. */
const MOST_CHANGE_DB = 12;
/** A note that rings on falls by 60 dB in the room's reverberation time: in rooms up to 1 s faster than this. */
const FALL_DB_PER_SEC = -60;
/** A reed that an earlier note also sounded must be this much louder than the echo of that note would be. */
const ABOVE_ECHO_DB = 7;

/** What was found in one note. */
interface Look {
  readonly reeds: readonly { readonly note: PlayableNote; readonly finding: CombFinding }[];
  /** Middle of the last window, in seconds from the first sample; from the first to it. */
  readonly lastSec: number;
  readonly spanSec: number;
}

/**
 * Finds for each note a second reed that sounds along, by partials that the note itself can't have, at the pitches
 * of the natural reeds in the same breath: those of the next holes from -26 dB on, others up to four holes away (the
 * reach of chords and octave splits) from -10 dB on. Reeds one or two octaves or a twelfth above have no partial of
 * their own and can't be told; a fifth shows every second one. What rings on in the room from the notes before is
 * told from a reed by how loud other notes of this take ring on.
 * @returns one entry a note; null when no second reed stands out
 */
export function findSecondReeds(
  samples: Samples,
  events: readonly SoundEvent[],
  readings: readonly HoleReading[][],
  notes: readonly PlayableNote[],
): (NoteLeak | null)[] {
  const held = new HeldSpectrum(samples);
  const comb = new ReedComb(held, samples.sampleRate);
  const echoes: EchoPoint[] = [];
  const looks = events.map((event, i): Look => {
    held.measure(event);
    if (held.count === 0) return { reeds: [], lastSec: 0, spanSec: 0 };
    comb.begin(event.f0Hz);
    const firstSec = event.heldSec[0] + held.windowSec / 2;
    const spanSec = (held.count - 1) * held.spacingSec;
    echoes.push(...echoesOf(comb, event, events[i - 1], firstSec, held.spacingSec));
    return { reeds: lookForReeds(comb, readings[i][0].note, notes), lastSec: firstSec + spanSec, spanSec };
  });
  const curve = new EchoCurve(echoes);
  return looks.map((look, i) => choose(look, events, i, curve));
}

function lookForReeds(comb: ReedComb, note: PlayableNote, notes: readonly PlayableNote[]): Look['reeds'] {
  return notes.flatMap((other) => {
    if (other.bend > 0 || other.over || other.breath !== note.breath) return [];
    const holes = Math.abs(other.hole - note.hole);
    if (holes === 0 || holes > WIDEST_HOLES) return [];
    const finding = comb.look(other.f0Hz);
    return finding === null || finding.levelDb < (holes === 1 ? WEAKEST_DB : MEANT_DB)
      ? []
      : [{ note: other, finding }];
  });
}

function echoesOf(
  comb: ReedComb,
  event: SoundEvent,
  before: SoundEvent | undefined,
  firstSec: number,
  spacingSec: number,
): EchoPoint[] {
  if (before === undefined || firstSec - before.offsetSec > ECHO_SEC) return [];
  const windowDb = comb.look(before.f0Hz)?.windowDb ?? [];
  return windowDb.map((levelDb, w) => ({
    afterSec: firstSec + w * spacingSec - before.offsetSec,
    levelDb: event.levelDb + levelDb - before.levelDb,
  }));
}

function choose(look: Look, events: readonly SoundEvent[], index: number, echo: EchoCurve): NoteLeak | null {
  let best: Look['reeds'][number] | null = null;
  for (const reed of look.reeds) {
    const { note, finding } = reed;
    if (!standsOut(finding) || !staysOn(finding, look.spanSec)) continue;
    const lastDb = events[index].levelDb + finding.windowDb[finding.windowDb.length - 1];
    if (lastDb < echo.expectedDb(events, index, note.f0Hz, look.lastSec) + ABOVE_ECHO_DB) continue;
    if (best === null || worth(finding) > worth(best.finding)) best = reed;
  }
  return best === null ? null : { hole: best.note.hole, levelDb: best.finding.levelDb };
}

/** Evidence first, level second: a reed of which half the partials are another's has gaps in its comb. */
const worth = (finding: CombFinding): number => finding.riseDb + 0.5 * finding.levelDb;

function standsOut({ visible, risen, riseDb }: CombFinding): boolean {
  if (visible === 1) return riseDb >= LONE_RISE_DB;
  return risen >= 2 && risen >= LEAST_RISEN_SHARE * visible && riseDb >= LEAST_RISE_DB;
}

function staysOn({ windowDb }: CombFinding, spanSec: number): boolean {
  if (windowDb.length < 2) return true;
  if (Math.max(...windowDb) - Math.min(...windowDb) > MOST_CHANGE_DB) return false;
  return (windowDb[windowDb.length - 1] - windowDb[0]) / spanSec > FALL_DB_PER_SEC;
}

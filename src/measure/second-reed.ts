import type { SoundEvent } from '../analysis/events.ts';
import type { Samples } from '../audio/samples.ts';
import type { PlayableNote } from '../harp/types.ts';
import type { HoleReading } from '../tab/holes.ts';
import type { NoteLeak } from '../tab/note.ts';
import { centsBetween, powerToDb } from '../units.ts';
import { ECHO_SEC, EchoCurve, type EchoPoint } from './echo.ts';
import { HeldSpectrum } from './held-spectrum.ts';
import { type CombFinding, ReedComb } from './reed-comb.ts';
import { hasCompany, isHeld } from './strings.ts';

/** Weaker than this nothing is reported: breath, rooms and codecs leave as much. */
const WEAKEST_DB = -25;
/** From this level on a reed further off than the next hole is looked for: it is meant, or a split gone wrong. */
const MEANT_DB = -10;
/** Holes that a chord or a split spans to one side. */
const WIDEST_HOLES = 4;
/** How far the visible partials must stand above the noise in the mean, how many of them, and a lone one. */
const LEAST_RISE_DB = 9;
const LEAST_RISEN_SHARE = 0.6;
const LONE_RISE_DB = 18;
/** A reed sounds in a window whose level is this near the loudest one's; so many windows must have it. */
const SOUNDING_DB = 12;
const LEAST_SOUNDING = 0.7;
/** A note that rings on falls by 60 dB in the room's reverberation time: in rooms up to 1 s faster than this. */
const FALL_DB_PER_SEC = -60;
/** As loud as this against the note, and sounding all through it, a second reed was meant. */
const CHORD_DB = -6;
/** What proves a reading of the other breath wrong is held to more than a leak is. */
const PROOF_RISE_DB = 14;
const PROOF_DB = -20;
const SAME_PITCH_CENTS = 40;
/** By how much the next hole is likelier to sound along than one further off, in dB of `worth`. */
const NEXT_HOLE_DB = 6;
/** Windows shorter than this part neighbours, but not what a chord brings. */
const LEAST_CHORD_WINDOW_SEC = 0.1;
/** A reed that an earlier note also sounded must be this much louder than the echo of that note would be. */
const ABOVE_ECHO_DB = 6;

/** Notes before whose tails may still sound, and how near a pitch is theirs. */
const NEIGHBOURS = 3;
const NEAR_PITCH_CENTS = 70;

/** A reed that may sound along, if the note is what the reading says. */
interface SeenReed {
  readonly note: PlayableNote;
  readonly finding: CombFinding;
  /** Whether it is the next hole's. */
  readonly next: boolean;
  /** Place of the reading in the note's list whose breath it shares. */
  readonly reading: number;
}

/** What was found in one note. */
interface Look {
  readonly reeds: readonly SeenReed[];
  /** Reeds of the other breath, which can't sound: what is found there is another instrument. */
  readonly decoys: readonly SeenReed[];
  readonly brightness: number | null;
  /** Middle of the last window, in seconds from the first sample; from the first to it. */
  readonly lastSec: number;
  readonly spanSec: number;
}

/** The reeds of a note. */
export interface NoteReeds {
  /** Null when no second reed stands out. */
  readonly leak: NoteLeak | null;
  /** Centre of the power of the note's partials, in partial numbers; null when it is too short. */
  readonly brightness: number | null;
  /**
   * Place of the reading that the second reed proves: 0 as a rule, another when the pitch can be had in both breaths
   * (2 draw and 3 blow) and a reed sounds along that only the other breath can have.
   */
  readonly reading: number;
}

/**
 * Finds for each note a second reed that sounds along, by partials that the note itself can't have, at the pitches
 * of the natural reeds in the same breath: those of the next holes from -25 dB on, others up to four holes away (the
 * reach of chords and octave splits) from -10 dB on. Reeds one or two octaves or a twelfth above have no partial of
 * their own and can't be told; a fifth shows every second one. What rings on in the room from the notes before is
 * told from a reed by how loud other notes of this take ring on. Where another instrument plays along, only what is
 * held like a reed is said, and what is too short to be told is left out.
 */
export function findReeds(
  samples: Samples,
  events: readonly SoundEvent[],
  readings: readonly HoleReading[][],
  notes: readonly PlayableNote[],
): NoteReeds[] {
  const held = new HeldSpectrum(samples);
  const comb = new ReedComb(held, samples.sampleRate);
  const echoes: EchoPoint[] = [];
  const looks = events.map((event, i): Look => {
    held.measure(event);
    if (held.count === 0) return { reeds: [], decoys: [], brightness: null, lastSec: 0, spanSec: 0 };
    comb.begin(event.f0Hz);
    const firstSec = held.fromSec + held.windowSec / 2;
    const spanSec = (held.count - 1) * held.spacingSec;
    echoes.push(...echoesOf(comb, event, events[i - 1], firstSec, held.spacingSec));
    const widest = held.windowSec < LEAST_CHORD_WINDOW_SEC ? 1 : WIDEST_HOLES;
    return {
      reeds: lookForReeds(comb, readings[i], notes, widest),
      decoys: lookForDecoys(comb, readings[i], notes),
      brightness: comb.brightness(),
      lastSec: firstSec + spanSec,
      spanSec,
    };
  });
  const curve = new EchoCurve(echoes);
  const along = looks.map((look, i) =>
    look.reeds.filter((reed) => soundsAlong(reed, look, events, i, curve)),
  );
  const company = hasCompany(
    along.flatMap((reeds) => strongest(reeds)?.finding ?? []),
    looks.map((look, i) =>
      look.decoys.some((reed) => !isNeighbour(reed, i, events) && soundsAlong(reed, look, events, i, curve)),
    ),
  );
  return looks.map((look, i) => {
    const sure = company ? along[i].filter(({ finding }) => isHeld(finding)) : along[i];
    const best = strongest(sure.filter(({ reading }) => reading === 0)) ?? strongest(sure.filter(isProof));
    return {
      leak: best === null ? null : asLeak(best, readings[i][best.reading].note),
      brightness: look.brightness,
      reading: best?.reading ?? 0,
    };
  });
}

function lookForReeds(
  comb: ReedComb,
  readings: readonly HoleReading[],
  notes: readonly PlayableNote[],
  widest: number,
): SeenReed[] {
  const [{ note: first }] = readings;
  return readings.flatMap(({ note }, reading) => {
    const other = reading > 0;
    if (other && (note.breath === first.breath || apartCents(note, first) > SAME_PITCH_CENTS)) return [];
    return notes.flatMap((reed): SeenReed[] => {
      if (reed.bend > 0 || reed.over || reed.breath !== note.breath) return [];
      const holes = Math.abs(reed.hole - note.hole);
      if (holes === 0 || holes > (other ? 1 : widest)) return [];
      const finding = comb.look(reed.f0Hz);
      if (finding === null || levelWhileSounding(finding) < (holes === 1 ? WEAKEST_DB : MEANT_DB)) return [];
      return [{ note: reed, finding, reading, next: holes === 1 }];
    });
  });
}

function lookForDecoys(
  comb: ReedComb,
  readings: readonly HoleReading[],
  notes: readonly PlayableNote[],
): SeenReed[] {
  const [{ note: main }] = readings;
  if (readings.some(({ note }) => note.breath !== main.breath && apartCents(note, main) <= SAME_PITCH_CENTS))
    return [];
  return notes.flatMap((reed): SeenReed[] => {
    if (reed.bend > 0 || reed.over || reed.breath === main.breath || Math.abs(reed.hole - main.hole) > 1)
      return [];
    const finding = comb.look(reed.f0Hz);
    if (finding === null || levelWhileSounding(finding) < WEAKEST_DB) return [];
    return [{ note: reed, finding, reading: 0, next: true }];
  });
}

/** Whether a note near by has the pitch: its tail, or an onset that was placed late, brings it. */
function isNeighbour({ note }: SeenReed, index: number, events: readonly SoundEvent[]): boolean {
  return events
    .slice(Math.max(0, index - NEIGHBOURS), index + 2)
    .some(({ f0Hz }) => Math.abs(centsBetween(f0Hz, note.f0Hz)) <= NEAR_PITCH_CENTS);
}

const apartCents = (a: PlayableNote, b: PlayableNote): number => Math.abs(centsBetween(a.f0Hz, b.f0Hz));

const isProof = ({ finding }: SeenReed): boolean =>
  finding.riseDb >= PROOF_RISE_DB && finding.levelDb >= PROOF_DB && finding.visible > 1;

function asLeak({ note, finding }: SeenReed, main: PlayableNote): NoteLeak {
  const share = soundingShare(finding);
  const levelDb = levelWhileSounding(finding);
  const meant = levelDb >= CHORD_DB && share === 1;
  const kind = !meant ? 'leak' : Math.abs(note.hole - main.hole) === 1 ? 'chord' : 'split';
  return { hole: note.hole, levelDb, share, kind };
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

function soundsAlong(
  { note, finding }: SeenReed,
  look: Look,
  events: readonly SoundEvent[],
  index: number,
  echo: EchoCurve,
): boolean {
  if (!standsOut(finding) || soundingShare(finding) < LEAST_SOUNDING) return false;
  const echoDb = echo.expectedDb(events, index, note.f0Hz, look.lastSec);
  if (echoDb === Number.NEGATIVE_INFINITY) return true;
  const { windowDb } = finding;
  const lastDb = windowDb[windowDb.length - 1];
  if (events[index].levelDb + lastDb < echoDb + ABOVE_ECHO_DB) return false;
  return windowDb.length === 1 || (lastDb - windowDb[0]) / look.spanSec > FALL_DB_PER_SEC;
}

function strongest(reeds: readonly SeenReed[]): SeenReed | null {
  let best: SeenReed | null = null;
  for (const reed of reeds) if (best === null || worth(reed) > worth(best)) best = reed;
  return best;
}

/**
 * Evidence first, level second: a reed of which half the partials are another's has gaps in its comb. One further off
 * must be so much louder: the octave of a neighbour shows where the neighbour sounds.
 */
const worth = ({ finding, next }: SeenReed): number =>
  finding.riseDb + 0.5 * finding.levelDb + (next ? NEXT_HOLE_DB : 0);

function standsOut({ visible, risen, riseDb }: CombFinding): boolean {
  if (visible === 1) return riseDb >= LONE_RISE_DB;
  return risen >= 2 && risen >= LEAST_RISEN_SHARE * visible && riseDb >= LEAST_RISE_DB;
}

/** Share of the windows in which the reed sounds. */
const soundingShare = ({ windowDb }: CombFinding): number => sounding(windowDb).length / windowDb.length;

/** Its level in those windows: over the whole note, a reed that sounds in half of it would seem 3 dB weaker. */
function levelWhileSounding({ levelDb, windowDb }: CombFinding): number {
  const meanDb = (values: readonly number[]): number =>
    powerToDb(values.reduce((sum, value) => sum + 10 ** (value / 10), 0) / values.length);
  return levelDb + meanDb(sounding(windowDb)) - meanDb(windowDb);
}

function sounding(windowDb: readonly number[]): readonly number[] {
  const loudest = Math.max(...windowDb);
  return windowDb.filter((levelDb) => levelDb > loudest - SOUNDING_DB);
}

import type { LeftOut } from '../../../src/analysis/playing/left-out.ts';
import { MAYBE_TWO } from '../../../src/tab/flags.ts';
import { heardEvents } from '../real/real-score.ts';
import type { LabelledTake } from '../sets/takes.ts';
import type { JobResult } from '../worker.ts';
import { renderedClaims } from './claims.ts';
import { calibrationError, type EstimatedNote, reliability } from './measure.ts';
import { matchNotes, sameTab } from './metrics.ts';

/** What a take fails to mention and what it claims, counted over one take or added up over many. */
export interface Honesty {
  /** How sure each note is said to be, and whether its whole claim is right: there, one note, of these pitches and holes. */
  readonly claims: readonly (readonly [confidence: number, right: boolean])[];
  /** Played notes that have no counterpart, and those of them that nothing tells of. */
  readonly missed: number;
  readonly silent: number;
  /** The most of those in a row, and how many runs of two and more there are. */
  readonly longestSilent: number;
  readonly silentRuns: number;
  /** Notes further than a semitone from the note that they are said to be. */
  readonly offHarp: number;
  /** Places where something may be missing, by what is told, and those of them where something is; not where nobody can tell. */
  readonly told: number;
  readonly toldRight: number;
  /** The same for notes that may have been played twice: those of them that a missed note begins in. */
  readonly twice: number;
  readonly twiceRight: number;
}

/** Something that was played. */
interface Played {
  readonly onsetSec: number;
  readonly offsetSec: number;
  /** False where nobody can tell. */
  readonly sure: boolean;
}

/** A note that begins this late still counts as found. */
export const LATE_SEC = 0.1;
const DOUBTFUL_BELOW = 0.7;
const OFF_HARP_CENTS = 100;
/** How much of a missed note must be mentioned, as a share or in seconds. */
const TOLD_SHARE = 0.3;
const TOLD_SEC = 0.05;

/**
 * @param found for each played event whether it has a counterpart
 * @param right for each note whether its whole claim is right; null where the label does not tell
 */
export function measureHonesty(
  played: readonly Played[],
  found: readonly boolean[],
  notes: readonly EstimatedNote[],
  right: readonly (boolean | null)[],
  leftOut: readonly LeftOut[],
): Honesty {
  const isOpen = (span: Span): boolean => played.some((event) => !event.sure && overlapSec(span, event) > 0);
  const twice = notes.filter((note) => note.flags?.includes(MAYBE_TWO) && !isOpen(note));
  const doubtful = notes.filter(
    ({ confidence, flags }) => (confidence ?? 1) < DOUBTFUL_BELOW || flags?.includes(MAYBE_TWO),
  );
  const tells = [...leftOut, ...doubtful];
  const isMissed = played.map(({ sure }, i) => sure && !found[i]);
  const isSilent = played.map(
    (event, i) =>
      isMissed[i] &&
      !tells.some(
        (tell) =>
          overlapSec(tell, event) > Math.min(TOLD_SEC, TOLD_SHARE * (event.offsetSec - event.onsetSec)),
      ),
  );
  const runs = runsOf(isSilent);
  const places = leftOut.filter((place) => place.why === 'doubtful' && !isOpen(place));
  return {
    claims: notes.flatMap(({ confidence }, i) => {
      const is = right[i];
      return is === null || confidence === null ? [] : [[confidence, is] as const];
    }),
    missed: isMissed.filter(Boolean).length,
    silent: isSilent.filter(Boolean).length,
    longestSilent: Math.max(0, ...runs),
    silentRuns: runs.filter((length) => length >= 2).length,
    offHarp: notes.filter(({ cents = 0 }) => Math.abs(cents) > OFF_HARP_CENTS).length,
    told: places.length,
    toldRight: places.filter((place) =>
      played.some((event, i) => isMissed[i] && overlapSec(place, event) > 0),
    ).length,
    twice: twice.length,
    twiceRight: twice.filter((note) =>
      played.some(({ onsetSec }, i) => isMissed[i] && onsetSec > note.onsetSec && onsetSec < note.offsetSec),
    ).length,
  };
}

/** The same for a rendered take, whose truth tells the holes, too. */
export function renderedHonesty(
  { notes: played }: LabelledTake,
  { notes, harp, leftOut }: JobResult,
): Honesty {
  const pairs = matchNotes(played, notes, { offsetRatio: null });
  const found = new Set(
    matchNotes(played, notes, { offsetRatio: null, onsetToleranceSec: LATE_SEC }).map(([r]) => r),
  );
  const ofNote = new Map(pairs.map(([r, e]) => [e, r]));
  const whole = renderedClaims(played, heardEvents(notes, harp));
  const right = notes.map((note, i) => {
    const own = ofNote.get(i);
    return whole[i] && own !== undefined && sameTab(played[own], note);
  });
  return measureHonesty(
    played.map(({ onsetSec, offsetSec }) => ({ onsetSec, offsetSec, sure: true })),
    played.map((_, i) => found.has(i)),
    notes,
    right,
    leftOut,
  );
}

/** Sums; the longest run is the longest of all. */
export function addHonesty(parts: readonly Honesty[]): Honesty {
  const sum = (of: (part: Honesty) => number): number => parts.reduce((all, part) => all + of(part), 0);
  return {
    claims: parts.flatMap(({ claims }) => claims),
    missed: sum(({ missed }) => missed),
    silent: sum(({ silent }) => silent),
    longestSilent: Math.max(0, ...parts.map(({ longestSilent }) => longestSilent)),
    silentRuns: sum(({ silentRuns }) => silentRuns),
    offHarp: sum(({ offHarp }) => offHarp),
    told: sum(({ told }) => told),
    toldRight: sum(({ toldRight }) => toldRight),
    twice: sum(({ twice }) => twice),
    twiceRight: sum(({ twiceRight }) => twiceRight),
  };
}

/** Claimed confidence compared with how many notes are right, and what is not mentioned, in words. */
export function honestyInWords(honesty: Honesty): string {
  const { claims, missed, silent, longestSilent, silentRuns, offHarp, told, toldRight, twice, twiceRight } =
    honesty;
  const error = calibrationError(claims);
  const mean = (of: (claim: Honesty['claims'][number]) => number): string =>
    (claims.reduce((sum, claim) => sum + of(claim), 0) / claims.length).toFixed(3);
  const rows = reliability(claims).map(
    ({ from, to, count, meanConfidence, shareRight }) =>
      `${from.toFixed(1)} to ${to.toFixed(1)}  ${String(count).padStart(5)}  ${meanConfidence.toFixed(3)}  ${shareRight.toFixed(3)}`,
  );
  return [
    'confidence  notes   said  right (there, one note, these holes)',
    ...rows,
    error === null
      ? 'no notes'
      : `${claims.length} notes, said ${mean(([said]) => said)}, right ${mean(([, is]) => Number(is))}; calibration error ${error.toFixed(3)}, ` +
        `a perfect judge ${chanceError(claims).toFixed(3)} by chance`,
    `missed ${missed}, ${silent} of them without a word, ${longestSilent} in a row at most, ${silentRuns} runs of two and more`,
    `told as perhaps played twice ${twice} notes, ${twiceRight} of them were`,
    `told as perhaps missing ${told} sounds, at ${toldRight} of them a note is; notes beyond a semitone from any of the harp ${offHarp}`,
  ].join('\n');
}

const ROUNDS = 200;

/** The calibration error that confidences which are right would show on so few notes, the mean over many draws. */
function chanceError(claims: Honesty['claims']): number {
  let seed = 1;
  const draw = (): number => {
    seed = (seed * 48271) % 2147483647;
    return seed / 2147483647;
  };
  let sum = 0;
  for (let round = 0; round < ROUNDS; round++)
    sum += calibrationError(claims.map(([said]) => [said, draw() < said] as const)) ?? 0;
  return sum / ROUNDS;
}

interface Span {
  readonly onsetSec: number;
  readonly offsetSec: number;
}

function overlapSec(a: Span, b: Span): number {
  return Math.min(a.offsetSec, b.offsetSec) - Math.max(a.onsetSec, b.onsetSec);
}

/** Lengths of runs of true. */
function runsOf(values: readonly boolean[]): number[] {
  const runs: number[] = [];
  let run = 0;
  for (const value of [...values, false]) {
    if (value) run++;
    else if (run > 0) {
      runs.push(run);
      run = 0;
    }
  }
  return runs;
}

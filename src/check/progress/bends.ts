import type { Breath } from '../../harp/types.ts';
import { median, quantile } from '../../statistics.ts';
import { NOISY } from '../../tab/flags.ts';
import type { Take } from '../../take/schema.ts';
import { type Dated, type Trend, trendOf } from './trend.ts';

/** A take with when it was played. */
export interface DatedTake {
  readonly name: string;
  readonly take: Take;
  /** `YYYY-MM-DD`; null when nothing tells. */
  readonly date: string | null;
}

/** One bend as it was played. */
export interface PlayedBend {
  readonly takeName: string;
  readonly date: string | null;
  readonly harpKey: string;
  readonly noteId: string;
  readonly onsetSec: number;
  readonly hole: number;
  readonly breath: Breath;
  /** Semitones; 0 of an overbend. */
  readonly bend: number;
  readonly over: boolean;
  /** Against the target; positive is not deep enough, of an overbend too high. */
  readonly cents: number;
  readonly steadinessCents: number;
  /** Seconds until it stayed with its held pitch. */
  readonly settleSec: number;
}

/** One bend of the harp over all takes. */
export interface BendSummary {
  readonly hole: number;
  readonly breath: Breath;
  /** Semitones; 0 of an overbend. */
  readonly bend: number;
  readonly over: boolean;
  readonly count: number;
  readonly medianCents: number;
  /** Half the range of the middle 68 %. */
  readonly spreadCents: number;
  /** Share of the notes within the tolerance, [0, 1]. */
  readonly withinTolerance: number;
  /** How many did not reach the target (not deep enough; of an overbend flat), and how many went too far. */
  readonly short: number;
  readonly tooDeep: number;
  /** Medians of both. */
  readonly steadinessCents: number;
  readonly settleSec: number;
  /** Of the distance from the target; null with fewer than three days. */
  readonly trend: Trend | null;
  readonly notes: readonly PlayedBend[];
}

/** A hole that is read with less certainty than this is left out: another bend of the same pitch would be judged. */
const LEAST_SURE = 0.6;
const DAY_MS = 86_400_000;
/** A bend played seldom is drawn to the middle of the list by as many notes without fault. */
const DOUBT_NOTES = 2;

/** A take that was left out because another is of the same recording. */
export interface Copy {
  readonly name: string;
  /** Name of the take that counts. */
  readonly of: string;
}

/** Each recording once: of several takes of one the first that was corrected most. */
export function withoutCopies(takes: readonly DatedTake[]): { takes: DatedTake[]; copies: Copy[] } {
  const kept: DatedTake[] = [];
  for (const dated of takes) {
    const at = kept.findIndex(({ take }) => isSameRecording(take, dated.take));
    if (at < 0) kept.push(dated);
    else if (dated.take.edits.length > kept[at].take.edits.length) kept[at] = dated;
  }
  const copies = takes.flatMap((dated): Copy[] => {
    const counted = kept.find(({ take }) => isSameRecording(take, dated.take));
    return counted === undefined || counted === dated ? [] : [{ name: dated.name, of: counted.name }];
  });
  return { takes: kept, copies };
}

/** Corrected takes of one recording have at least so many notes in common. */
const SAME_SHARE = 0.5;

/** By the fingerprint of the recording's bytes, unless the notes are others, as in takes that were not made from it. */
function isSameRecording(a: Take, b: Take): boolean {
  if (a.source.sha256 !== b.source.sha256) return false;
  const heard = new Set(a.notes.map(({ onsetSec, f0Hz }) => `${onsetSec} ${f0Hz}`));
  const same = b.notes.filter(({ onsetSec, f0Hz }) => heard.has(`${onsetSec} ${f0Hz}`)).length;
  return same >= SAME_SHARE * Math.max(a.notes.length, b.notes.length);
}

/** Bends that could not be judged, by reason. */
export interface LeftOut {
  readonly tooShort: number;
  readonly tooNoisy: number;
  /** The hole is in doubt: another bend would be judged. */
  readonly inDoubt: number;
}

/** All bends and overbends of the takes that can be judged, and how many had to be left out, and why. */
export function collectBends(takes: readonly DatedTake[]): { bends: PlayedBend[]; leftOut: LeftOut } {
  const bends: PlayedBend[] = [];
  const leftOut = { tooShort: 0, tooNoisy: 0, inDoubt: 0 };
  for (const { name, take, date } of takes) {
    for (const note of take.notes) {
      if (note.bend === 0 && !note.over) continue;
      const { intonation } = note;
      // A miss far enough to lie between two depths is of the depth that is otherwise played on that reed.
      const meant = note.confidence < LEAST_SURE ? meantDepth(note, takes) : note.bend;
      if (intonation === null || meant === null) {
        if (intonation !== null) leftOut.inDoubt++;
        else if (note.flags.includes(NOISY)) leftOut.tooNoisy++;
        else leftOut.tooShort++;
        continue;
      }
      bends.push({
        takeName: name,
        date,
        harpKey: take.harp.key,
        noteId: note.id,
        onsetSec: note.onsetSec,
        hole: note.hole,
        breath: note.breath,
        bend: meant,
        over: note.over,
        cents: note.cents + 100 * (meant - note.bend),
        steadinessCents: intonation.steadinessCents,
        settleSec: intonation.scoopSec,
      });
    }
  }
  return { bends, leftOut };
}

/**
 * The depth that was meant by a bend whose reed is sure and whose depth is not: the only one that is surely played on that reed
 * elsewhere in the takes, when it is no more than a semitone from the reading; null when nothing tells.
 */
function meantDepth(note: Take['notes'][number], takes: readonly DatedTake[]): number | null {
  const sameReed = (other: Pick<Take['notes'][number], 'hole' | 'breath' | 'over'>): boolean =>
    other.hole === note.hole && other.breath === note.breath && other.over === note.over;
  const sure = note.alternatives.reduce(
    (sum, other) => sum + (sameReed(other) ? other.confidence : 0),
    note.confidence,
  );
  if (sure < LEAST_SURE || note.over) return null;
  const depths = new Set(
    takes.flatMap(({ take }) =>
      take.notes.flatMap((other) =>
        other !== note && other.bend > 0 && other.confidence >= LEAST_SURE && sameReed(other)
          ? [other.bend]
          : [],
      ),
    ),
  );
  const [depth] = depths;
  return depths.size === 1 && Math.abs(depth - note.bend) <= 1 ? depth : null;
}

/**
 * Sums up each bend and overbend by hole and depth, whatever the key of the harp; what needs most work comes first: by how far
 * notes lie outside the tolerance on average.
 */
export function summariseBends(bends: readonly PlayedBend[], toleranceCents: number): BendSummary[] {
  const kinds = new Map<string, PlayedBend[]>();
  for (const bend of bends) {
    const kind = `${bend.hole} ${bend.breath} ${bend.bend} ${bend.over}`;
    kinds.set(kind, [...(kinds.get(kind) ?? []), bend]);
  }
  return [...kinds.values()]
    .map((notes) => ({ summary: summarise(notes, toleranceCents), work: workOf(notes, toleranceCents) }))
    .sort((a, b) => b.work - a.work || a.summary.hole - b.summary.hole || a.summary.bend - b.summary.bend)
    .map(({ summary }) => summary);
}

function summarise(notes: readonly PlayedBend[], toleranceCents: number): BendSummary {
  const [{ hole, breath, bend, over }] = notes;
  const cents = notes.map((note) => note.cents);
  // A bend goes down to its target, an overbend up.
  const short = cents.filter((value) => (over ? -value : value) > toleranceCents).length;
  const tooDeep = cents.filter((value) => (over ? value : -value) > toleranceCents).length;
  return {
    hole,
    breath,
    bend,
    over,
    count: notes.length,
    medianCents: median(cents),
    spreadCents: (quantile(cents, 0.84) - quantile(cents, 0.16)) / 2,
    withinTolerance: (notes.length - short - tooDeep) / notes.length,
    short,
    tooDeep,
    steadinessCents: median(notes.map((note) => note.steadinessCents)),
    settleSec: median(notes.map((note) => note.settleSec)),
    trend: trendOf(
      notes.flatMap((note): Dated[] =>
        note.date === null ? [] : [{ day: Date.parse(note.date) / DAY_MS, value: Math.abs(note.cents) }],
      ),
    ),
    notes,
  };
}

function workOf(notes: readonly PlayedBend[], toleranceCents: number): number {
  const excess = notes.reduce((sum, { cents }) => sum + Math.max(0, Math.abs(cents) - toleranceCents), 0);
  const distance = notes.reduce((sum, { cents }) => sum + Math.abs(cents), 0) / notes.length;
  // Inside the tolerance the mean distance still orders, but never outweighs a cent outside it.
  return excess / (notes.length + DOUBT_NOTES) + distance / 1000;
}

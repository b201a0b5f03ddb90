import type { Breath, PlayableNote } from '../../harp/types.ts';
import { NOISY } from '../../tab/flags.ts';
import { type TabNote, tabOf } from '../../tab/tab-note.ts';
import type { Take } from '../../take/schema.ts';
import { sameReed } from '../align/pitch-costs.ts';
import { nominalMidi, takeHarp } from '../align/reference.ts';
import type { AskedBend, DatedTake } from './dated-take.ts';

type TakeNote = Take['notes'][number];

/** One bend as it was played. */
export interface PlayedBend {
  readonly takeName: string;
  readonly take: Take;
  readonly note: TakeNote;
  readonly date: string | null;
  readonly harpKey: string;
  readonly noteId: string;
  readonly onsetSec: number;
  readonly hole: number;
  readonly breath: Breath;
  /** Semitones; 0 for an overbend. */
  readonly bend: number;
  readonly over: boolean;
  /** From the target; positive is not deep enough, or too high for an overbend. */
  readonly cents: number;
  readonly steadinessCents: number;
  /** Seconds until it settled on its held pitch. */
  readonly settleSec: number;
}

/** One reading of a note whose bend is doubtful, and how far off it would be. */
interface Reading {
  readonly tab: TabNote;
  /** As in `PlayedBend`. */
  readonly cents: number;
  /** [0, 1] */
  readonly confidence: number;
}

/** A note for which nothing settles what was meant, with all its possible readings. */
export interface DoubtfulBend {
  readonly takeName: string;
  readonly noteId: string;
  readonly onsetSec: number;
  /** The likeliest first; two at least. */
  readonly readings: readonly Reading[];
}

/** Bends that could not be judged, by reason. */
export interface LeftOut {
  readonly tooShort: number;
  readonly tooNoisy: number;
  /** Notes where nothing settles which bend was meant: listed with their readings. */
  readonly inDoubt: number;
  /** Other holes sound too, so the bend can't be measured by itself. */
  readonly inChord: number;
  /** The tune that the take is compared with has no bend there. */
  readonly notAsked: number;
}

export interface CollectedBends {
  readonly bends: readonly PlayedBend[];
  readonly doubtful: readonly DoubtfulBend[];
  readonly leftOut: LeftOut;
}

/** A hole less sure than this is left out: the bend judged might be another of the same pitch. */
const LEAST_SURE = 0.6;
/** Readings less likely than this are not listed. */
const TELL_FROM = 0.1;

/** All bends and overbends of the takes that can be judged, the doubtful ones, and what was left out and why. */
export function collectBends(takes: readonly DatedTake[]): CollectedBends {
  const bends: PlayedBend[] = [];
  const doubtful: DoubtfulBend[] = [];
  const leftOut = { tooShort: 0, tooNoisy: 0, inDoubt: 0, inChord: 0, notAsked: 0 };
  for (const dated of takes) {
    const { name, take, date, asked } = dated;
    let harp: PlayableNote[] | null = null;
    for (const note of take.notes) {
      const wanted = asked?.get(note.id);
      const isBend = note.bend > 0 || note.over;
      if (!isBend && (wanted === undefined || wanted.target === null)) continue;
      const { intonation } = note;
      if (note.holes !== undefined && note.shake !== true) leftOut.inChord++;
      else if (wanted?.target === null) leftOut.notAsked++;
      else if (intonation === null && note.flags.includes(NOISY)) leftOut.tooNoisy++;
      else if (intonation === null) leftOut.tooShort++;
      else {
        const meant = meantBend(note, wanted, takes);
        if (meant === null) {
          harp ??= takeHarp(take);
          leftOut.inDoubt++;
          doubtful.push({
            takeName: name,
            noteId: note.id,
            onsetSec: note.onsetSec,
            readings: readingsOf(note, harp),
          });
          continue;
        }
        const { target, cents } = meant;
        bends.push({
          takeName: name,
          take,
          note,
          date,
          harpKey: take.harp.key,
          noteId: note.id,
          onsetSec: note.onsetSec,
          hole: target.hole,
          breath: target.breath,
          bend: target.bend,
          over: target.over,
          cents,
          steadinessCents: intonation.steadinessCents,
          settleSec: intonation.scoopSec,
        });
      }
    }
  }
  return { bends, doubtful, leftOut };
}

/**
 * The bend that was meant: what the tune asks for, or else a sure reading, or else what the other bends suggest; null
 * if there is none of these.
 */
function meantBend(
  note: TakeNote,
  asked: AskedBend | undefined,
  takes: readonly DatedTake[],
): { readonly target: TabNote; readonly cents: number } | null {
  if (asked !== undefined && asked.target !== null) return { target: asked.target, cents: asked.cents };
  if (note.confidence >= LEAST_SURE) return { target: tabOf(note), cents: note.cents };
  // A bend halfway between two depths is taken for the depth played elsewhere on that reed.
  const depth = depthElsewhere(note, takes);
  if (depth === null) return null;
  return { target: { ...tabOf(note), bend: depth }, cents: note.cents + 100 * (depth - note.bend) };
}

/**
 * The depth that was meant by a bend whose reed is sure and whose depth is not: the only one that is surely played on that reed
 * elsewhere in the takes, when it is no more than a semitone from the reading; null when there is none.
 */
function depthElsewhere(note: TakeNote, takes: readonly DatedTake[]): number | null {
  const sure = note.alternatives.reduce(
    (sum, other) => sum + (sameReed(other, note) ? other.confidence : 0),
    note.confidence,
  );
  if (sure < LEAST_SURE || note.over) return null;
  const depths = new Set(
    takes.flatMap(({ take }) =>
      take.notes.flatMap((other) =>
        other !== note && other.bend > 0 && other.confidence >= LEAST_SURE && sameReed(other, note)
          ? [other.bend]
          : [],
      ),
    ),
  );
  const [depth] = depths;
  return depths.size === 1 && Math.abs(depth - note.bend) <= 1 ? depth : null;
}

/** All readings of a doubtful note. */
function readingsOf(note: TakeNote, harp: readonly PlayableNote[]): Reading[] {
  const read = nominalMidi(harp, note);
  return [note, ...note.alternatives]
    .filter((each, i) => i < 2 || each.confidence >= TELL_FROM)
    .map((each) => ({
      tab: tabOf(each),
      cents: note.cents + 100 * (read - nominalMidi(harp, { ...each, midi: note.midi })),
      confidence: each.confidence,
    }))
    .sort((a, b) => b.confidence - a.confidence);
}

import { centsBetween } from '../../../src/units.ts';
import { matchNotes, type PitchedNote, sameTab, type TabbedNote } from './metrics.ts';

/** How a transcribed note is wrong; every wrong note is counted under one kind. */
export const ERROR_KINDS = [
  'octave',
  'missed-repeat',
  'split',
  'bend-as-natural',
  'hole-or-breath',
  'wrong-pitch',
  'talk-as-note',
  'late-onset',
  'early-onset',
  'missed-covered',
  'missed-unheard',
  'missed-other',
  'added-in-note',
  'added-in-silence',
] as const;

export type ErrorKind = (typeof ERROR_KINDS)[number];

/** What each kind means, for the printed table. */
export const ERROR_KIND_LABELS: Readonly<Record<ErrorKind, string>> = {
  octave: 'octave (or twelfth)',
  'missed-repeat': 'missed repeat',
  split: 'split by vibrato, tremolo or scoop',
  'bend-as-natural': "bend taken for a neighbour's natural note",
  'hole-or-breath': 'hole, breath or technique wrong for the right pitch',
  'wrong-pitch': 'another pitch at the right time',
  'talk-as-note': 'talk taken for a note',
  'late-onset': 'late onset',
  'early-onset': 'early onset',
  'missed-covered': 'missed, a note of another pitch goes on over it',
  'missed-unheard': 'missed, nothing found there',
  'missed-other': 'missed, other',
  'added-in-note': 'added, over a note of another pitch',
  'added-in-silence': 'added, where nothing is played',
};

/** One wrong note: its kind, and the notes concerned (null where there is none). */
export interface NoteError {
  readonly kind: ErrorKind;
  readonly referenceIndex: number | null;
  readonly estimateIndex: number | null;
}

export type Span = readonly [fromSec: number, toSec: number];

const ONSET_SEC = 0.05;
const PITCH_CENTS = 50;
/** Same pitch, onset further off than 50 ms but not more than this: a timing error, not one missed and one added. */
const SHIFTED_ONSET_SEC = 0.25;
/** A piece of a note that vibrato or a scoop cut off may have been read as a neighbouring semitone. */
const SPLIT_CENTS = 170;
/** A note of another pitch covers a missed one when it sounds for this share of its length. */
const COVERED_SHARE = 0.5;
/** Octave, twelfth and double octave, either way. */
const HARMONIC_CENTS = [1200, 1901.955, 2400];

const samePitch = (a: PitchedNote, b: PitchedNote): boolean =>
  Math.abs(centsBetween(a.f0Hz, b.f0Hz)) <= PITCH_CENTS;

/**
 * Sorts what is wrong in a transcription by kind.
 * @param talkSec stretches where somebody talks; empty when nobody does or it is not known
 * @returns errors in the order in which they were told apart; empty for a perfect transcription
 */
export function classifyErrors(
  reference: readonly TabbedNote[],
  estimate: readonly TabbedNote[],
  talkSec: readonly Span[] = [],
): NoteError[] {
  const errors: NoteError[] = [];
  const openRef = new Set(reference.keys());
  const openEst = new Set(estimate.keys());
  const report = (kind: ErrorKind, referenceIndex: number | null, estimateIndex: number | null): void => {
    errors.push({ kind, referenceIndex, estimateIndex });
    if (referenceIndex !== null) openRef.delete(referenceIndex);
    if (estimateIndex !== null) openEst.delete(estimateIndex);
  };

  for (const [r, e] of matchNotes(reference, estimate, { offsetRatio: null })) {
    openRef.delete(r);
    openEst.delete(e);
    if (!sameTab(reference[r], estimate[e])) report(techniqueKind(reference[r], estimate[e]), r, e);
  }
  pairOpen(ONSET_SEC, false, (r, e) => report(pitchKind(reference[r], estimate[e]), r, e));
  pairOpen(SHIFTED_ONSET_SEC, true, (r, e) =>
    report(estimate[e].onsetSec > reference[r].onsetSec ? 'late-onset' : 'early-onset', r, e),
  );
  for (const r of [...openRef]) report(missedKind(r), r, null);
  for (const e of [...openEst]) report(addedKind(estimate[e]), null, e);
  return errors;

  function pairOpen(onsetSec: number, pitch: boolean, found: (r: number, e: number) => void): void {
    const refs = [...openRef];
    const ests = [...openEst];
    const pairs = matchNotes(
      refs.map((r) => reference[r]),
      ests.map((e) => estimate[e]),
      { onsetToleranceSec: onsetSec, pitchToleranceCents: pitch ? PITCH_CENTS : null, offsetRatio: null },
    );
    for (const [r, e] of pairs) found(refs[r], ests[e]);
  }

  function missedKind(r: number): ErrorKind {
    if (isMissedRepeat(r)) return 'missed-repeat';
    const ref = reference[r];
    const length = ref.offsetSec - ref.onsetSec;
    const covers = (est: TabbedNote): boolean =>
      Math.min(est.offsetSec, ref.offsetSec) - Math.max(est.onsetSec, ref.onsetSec) >= COVERED_SHARE * length;
    const over = estimate.filter(covers);
    if (over.length === 0) return 'missed-unheard';
    return over.some((est) => !samePitch(est, ref)) ? 'missed-covered' : 'missed-other';
  }

  function isMissedRepeat(r: number): boolean {
    const ref = reference[r];
    const before = reference[r - 1];
    if (!before || !samePitch(before, ref)) return false;
    return estimate.some(
      (est) => est.onsetSec < ref.onsetSec && est.offsetSec > ref.onsetSec && samePitch(est, ref),
    );
  }

  function addedKind(est: TabbedNote): ErrorKind {
    const inside = reference.find(
      (ref) => est.onsetSec >= ref.onsetSec - ONSET_SEC && est.onsetSec < ref.offsetSec,
    );
    if (inside) {
      return Math.abs(centsBetween(est.f0Hz, inside.f0Hz)) <= SPLIT_CENTS ? 'split' : 'added-in-note';
    }
    const talk = talkSec.some(([from, to]) => est.onsetSec < to && est.offsetSec > from);
    return talk ? 'talk-as-note' : 'added-in-silence';
  }
}

/** Right pitch and onset, wrong hole, breath, bend or over. */
function techniqueKind(ref: TabbedNote, est: TabbedNote): ErrorKind {
  const refBent = ref.bend > 0 || ref.over;
  const estNatural = est.bend === 0 && !est.over;
  return refBent && estNatural ? 'bend-as-natural' : 'hole-or-breath';
}

/** Right onset, wrong pitch. */
function pitchKind(ref: TabbedNote, est: TabbedNote): ErrorKind {
  const cents = Math.abs(centsBetween(est.f0Hz, ref.f0Hz));
  if (HARMONIC_CENTS.some((harmonic) => Math.abs(cents - harmonic) <= PITCH_CENTS)) return 'octave';
  if (cents <= SPLIT_CENTS && techniqueKind(ref, est) === 'bend-as-natural') return 'bend-as-natural';
  return 'wrong-pitch';
}

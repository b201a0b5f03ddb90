import { logOddsOf } from '../../decode/small-network.ts';
import { meanOver, median, probabilityOf } from '../../statistics.ts';
import { midiToHz } from '../../units.ts';
import { CONTOUR_STEP_SEC, type SoundEvent } from '../notes/events.ts';
import { LEAST_AGAIN } from '../notes/rearticulation/split-rearticulations.ts';
import {
  EVIDENCE_SLOTS,
  mostOnset,
  onsetAround,
  type PitchEvidence,
  rowOf,
  STEPS_PER_NAT,
  soundingAt,
} from '../pitch/evidence.ts';
import type { Frames } from '../pitch/frames.ts';
import { CLAIM_NETWORK } from './claim-network.ts';
import type { SortedSounds } from './left-out.ts';

/** Log odds are limited to this, in nats. */
const MOST_NATS = 6;
/** Onsets this far in, or further, are those of something else. */
const INSIDE_FRAMES = 8;
const END_FRAMES = 5;
/** Rows this close to a sounding one hear it as well. */
const BESIDE_ROWS = 1;
/** Events closer than this touch, in seconds; they have the same pitch within this, in semitones. */
const TOUCH_SEC = 0.04;
const SAME_PITCH = 0.6;
/**
 * Evidence that each event is one whole note of just its pitches, for `claimProbabilities`. From the network, in nats: that
 * the pitches begin at the onset, that they begin again later, that some other pitch sounds too. Then: harmonicity, and
 * the depth of the dip before the event, both in units of 10 dB; evidence of a re-articulation, in nats; whether the event
 * continues the previous pitch without a break, and whether the next one continues this; ln of its length relative to the
 * take's median; and, for the whole take, the median harmonicity, the share of events of several pitches, and how surely the
 * network hears them sound: the median, in nats.
 */
export function claimFeatures(
  { evidence, hopSec, count }: Frames,
  events: readonly SoundEvent[],
): number[][] {
  const usualSec = median(events.map(({ onsetSec, offsetSec }) => offsetSec - onsetSec));
  const usualHarmonicity = median(events.map((event) => event.harmonicityDb / 10));
  const severalShare = events.filter(({ set }) => set !== undefined).length / Math.max(1, events.length);
  const places = events.map(({ onsetSec, offsetSec, expectedMidi, set }) => {
    const from = Math.min(count - 1, Math.round(onsetSec / hopSec));
    const to = Math.max(from + 1, Math.min(count, Math.round(offsetSec / hopSec)));
    return { from, to, rows: (set?.midis ?? [expectedMidi]).map((midi) => rowOf(evidence, midi)) };
  });
  const usualSounding = median(places.map(({ from, to, rows }) => weakestSounding(evidence, rows, from, to)));
  return events.map((event, i) => {
    const { from, to, rows } = places[i];
    return [
      bounded(onsetAround(evidence, rows, from)),
      bounded(mostOnset(evidence, rows, from + INSIDE_FRAMES, to - END_FRAMES)),
      rivalOf(evidence, rows, from, to),
      event.harmonicityDb / 10,
      event.dipDb / 10,
      event.again?.nats ?? LEAST_AGAIN,
      goesOn(events[i - 1], event) ? 1 : 0,
      goesOn(event, events[i + 1]) ? 1 : 0,
      Math.log((event.offsetSec - event.onsetSec) / usualSec),
      usualHarmonicity,
      severalShare,
      usualSounding,
    ];
  });
}

/** Probability that each event is one whole note of just its pitches, calibrated (tests/bench/fit/fit-claim.ts). */
export function claimProbabilities(features: readonly (readonly number[])[]): number[] {
  return features.map((one) => probabilityOf(logOddsOf(CLAIM_NETWORK, one)));
}

/**
 * An event that continues the previous pitch and is less likely than this to be a note of its own is a piece of that note. In
 * lifelike takes of `--set tune`, note F1 with offsets is 0.952 at 0.08 and 0.1, 0.950 at 0.13 and 0.949 at 0.2. In recordings of
 * players 0.08 adds one wrong note and 0.2 takes one away.
 */
const PIECE = 0.1;

/** Joins pieces to the notes that they continue; `probabilities` are `claimProbabilities`. */
export function joinPieces(
  { events, played, leftOut }: SortedSounds,
  probabilities: readonly number[],
): SortedSounds {
  const kept: { event: SoundEvent; played: number }[] = [];
  events.forEach((event, i) => {
    const before = kept[kept.length - 1];
    if (probabilities[i] < PIECE && goesOn(before?.event, event))
      kept[kept.length - 1] = { ...before, event: continued(before.event, event) };
    else kept.push({ event, played: played[i] });
  });
  return { events: kept.map(({ event }) => event), played: kept.map((one) => one.played), leftOut };
}

/** The note, extended to the end of the piece after it. */
function continued(note: SoundEvent, piece: SoundEvent): SoundEvent {
  const { onsetSec, heldSec, contourMidi } = note;
  const { offsetSec } = piece;
  const contour = new Float32Array(Math.floor((offsetSec - onsetSec) / CONTOUR_STEP_SEC)).fill(Number.NaN);
  contour.set(contourMidi.subarray(0, contour.length));
  const from = Math.round((piece.onsetSec - onsetSec) / CONTOUR_STEP_SEC);
  contour.set(piece.contourMidi.subarray(0, Math.max(0, contour.length - from)), from);
  const noteSec = note.offsetSec - onsetSec;
  const pieceSec = offsetSec - piece.onsetSec;
  const midi = (note.midi * noteSec + piece.midi * pieceSec) / (noteSec + pieceSec);
  return {
    ...note,
    offsetSec,
    midi,
    f0Hz: midiToHz(midi),
    contourMidi: contour,
    heldSec: [heldSec[0], piece.heldSec[1]],
  };
}

const bounded = (nats: number): number => Math.max(-MOST_NATS, Math.min(MOST_NATS, nats));

function goesOn(before: SoundEvent | undefined, after: SoundEvent | undefined): boolean {
  return (
    before !== undefined &&
    after !== undefined &&
    after.onsetSec - before.offsetSec < TOUCH_SEC &&
    Math.abs(before.midi - after.midi) < SAME_PITCH
  );
}

/** Mean log odds of the row that sounds least over frames [from, to). */
function weakestSounding(evidence: PitchEvidence, rows: readonly number[], from: number, to: number): number {
  return Math.min(...rows.map((row) => meanOver(from, to, (t) => soundingAt(evidence, row, t))));
}

/** Mean log odds of the row that sounds most over frames [from, to), apart from those next to `rows`. */
function rivalOf(evidence: PitchEvidence, rows: readonly number[], from: number, to: number): number {
  const sums = new Map<number, number>();
  for (let s = from * EVIDENCE_SLOTS; s < to * EVIDENCE_SLOTS; s++) {
    const row = evidence.rows[s] - 1;
    if (row < 0 || rows.some((own) => Math.abs(own - row) <= BESIDE_ROWS)) continue;
    sums.set(row, (sums.get(row) ?? 0) + bounded(evidence.sounding[s] / STEPS_PER_NAT) + MOST_NATS);
  }
  return Math.max(0, ...sums.values()) / (to - from) - MOST_NATS;
}

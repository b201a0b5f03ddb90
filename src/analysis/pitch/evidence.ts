/** Number of pitches per frame of which evidence is kept. */
export const EVIDENCE_SLOTS = 8;
/** The lowest pitch that is examined, and how many there are, a semitone apart. */
export const LOWEST_ROW_MIDI = 43;
export const ROWS = 62;
/** Log odds are stored in sixteenths of a nat. */
export const STEPS_PER_NAT = 16;
/** Log odds of pitches that are not kept: no evidence at all. */
const ABSENT = -8;

/**
 * What the pitch network hears every 10 ms (see PitchNetwork). The slots of frame `t` begin at `t * EVIDENCE_SLOTS`, in no
 * particular order; values are log odds in steps of 1 / STEPS_PER_NAT nats.
 */
export interface PitchEvidence {
  /** How far the rows lie above equal temperament at A4 = 440 Hz, in semitones, [-0.5, 0.5). */
  readonly offset: number;
  /** Row + 1 of each slot, 0 for an empty slot; row r is the pitch LOWEST_ROW_MIDI + r + offset. */
  readonly rows: Uint8Array;
  /** That a note of this pitch sounds. */
  readonly sounding: Int8Array;
  /** That one begins, within 10 ms. */
  readonly onset: Int8Array;
  /** That the pitch is one of the two pitches of a shake. */
  readonly shake: Int8Array;
}

/** Empty evidence for this many frames, in memory that all threads of a pool share. */
export function emptyEvidence(frames: number, offset: number): PitchEvidence {
  const bytes = frames * EVIDENCE_SLOTS;
  return {
    offset,
    rows: new Uint8Array(new SharedArrayBuffer(bytes)),
    sounding: new Int8Array(new SharedArrayBuffer(bytes)),
    onset: new Int8Array(new SharedArrayBuffer(bytes)),
    shake: new Int8Array(new SharedArrayBuffer(bytes)),
  };
}

/** The row closest to a pitch; it may lie outside [0, ROWS). */
export function rowOf(evidence: Pick<PitchEvidence, 'offset'>, midi: number): number {
  return Math.round(midi - evidence.offset) - LOWEST_ROW_MIDI;
}

/** Log odds in nats that a note of a row begins in a frame. */
function onsetAt(evidence: PitchEvidence, row: number, frame: number): number {
  return valueAt(evidence, evidence.onset, row, frame);
}

/** Mean log odds in nats, over several rows, that they begin in a frame. */
export function meanOnset(evidence: PitchEvidence, rows: readonly number[], frame: number): number {
  let sum = 0;
  for (let i = 0; i < rows.length; i++) sum += onsetAt(evidence, rows[i], frame);
  return sum / rows.length;
}

/** Highest log odds in nats that any of several rows begins within frames [from, to), as far as they exist. */
export function mostOnset(
  evidence: PitchEvidence,
  rows: readonly number[],
  from: number,
  to: number,
): number {
  const end = Math.min(to, evidence.rows.length / EVIDENCE_SLOTS);
  let most = ABSENT;
  for (let t = Math.max(0, from); t < end; t++) {
    for (let i = 0; i < rows.length; i++) most = Math.max(most, onsetAt(evidence, rows[i], t));
  }
  return most;
}

/** An onset is searched for within this many frames. */
const ONSET_FRAMES = 4;

/** Highest log odds in nats that one of several rows begins around a frame. */
export function onsetAround(evidence: PitchEvidence, rows: readonly number[], frame: number): number {
  return mostOnset(evidence, rows, frame - ONSET_FRAMES, frame + ONSET_FRAMES + 1);
}

/** Log odds in nats that a note of a row sounds in a frame. */
export function soundingAt(evidence: PitchEvidence, row: number, frame: number): number {
  return valueAt(evidence, evidence.sounding, row, frame);
}

/** Log odds in nats that a row is one of the two pitches of a shake in a frame. */
export function shakeAt(evidence: PitchEvidence, row: number, frame: number): number {
  return valueAt(evidence, evidence.shake, row, frame);
}

function valueAt({ rows }: PitchEvidence, values: Int8Array, row: number, frame: number): number {
  for (let s = frame * EVIDENCE_SLOTS; s < (frame + 1) * EVIDENCE_SLOTS; s++) {
    if (rows[s] === row + 1) return values[s] / STEPS_PER_NAT;
  }
  return ABSENT;
}

/** Log odds above which a pitch is kept. */
const LEAST_KEPT = -4 * STEPS_PER_NAT;

/** Values below this are not kept, however they are rounded. */
const SURELY_NOT_KEPT = (LEAST_KEPT - 1) / STEPS_PER_NAT;

/**
 * Keeps the evidence for a pitch in frames [from, to), in each if it is among the strongest there.
 * @param heads  log odds in nats: those that it sounds begin at `at`, that it begins `stride` later, that it is part of a shake
 * after as many more
 */
export function keepRow(
  evidence: PitchEvidence,
  row: number,
  from: number,
  to: number,
  heads: Float32Array,
  at: number,
  stride: number,
): void {
  for (let t = from, i = at; t < to; t++, i++) {
    if (Math.max(heads[i], heads[i + stride]) < SURELY_NOT_KEPT) continue;
    keepEvidence(evidence, t, row, heads[i], heads[i + stride], heads[i + 2 * stride]);
  }
}

/** Keeps the evidence for a pitch in a frame, log odds in nats, if it is among the strongest of that frame. */
export function keepEvidence(
  { rows, sounding, onset, shake }: PitchEvidence,
  frame: number,
  row: number,
  soundingNats: number,
  onsetNats: number,
  shakeNats: number,
): void {
  const heard = toSteps(soundingNats);
  const begun = toSteps(onsetNats);
  const loudest = Math.max(heard, begun);
  if (loudest < LEAST_KEPT) return;
  const first = frame * EVIDENCE_SLOTS;
  let slot = first;
  let weakest = Number.POSITIVE_INFINITY;
  for (let s = first; s < first + EVIDENCE_SLOTS; s++) {
    const there = rows[s] === 0 ? Number.NEGATIVE_INFINITY : Math.max(sounding[s], onset[s]);
    if (there < weakest) {
      weakest = there;
      slot = s;
    }
  }
  if (weakest >= loudest) return;
  rows[slot] = row + 1;
  sounding[slot] = heard;
  onset[slot] = begun;
  shake[slot] = toSteps(shakeNats);
}

function toSteps(logOdds: number): number {
  return Math.max(-127, Math.min(127, Math.round(STEPS_PER_NAT * logOdds)));
}

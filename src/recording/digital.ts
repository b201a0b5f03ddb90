import { orderStatistic, quantile } from '../statistics.ts';
import { CLICK_FRAME, type Essentia } from './essentia.ts';
import type { Detected, Span } from './problem.ts';
import type { Sound } from './sound.ts';

/** Flat tops per second, and in all, that make clipping: single ones occur at slow peaks. */
const FLAT_A_SEC = 1.5;
const FEWEST_FLAT = 15;
const FLAT = { marked: 8, severe: 40 };
/** Clipped tops are all as high as the highest, within this factor. */
const SAME_HEIGHT = 0.99;
/** Tops this close together count as one place. */
const TOGETHER_SEC = 1;

/** Finds tops clipped at the recorder's ceiling (saturation detector of essentia.js). */
export function findClipping(sound: Sound, essentia: Essentia, level: Float32Array): Detected | null {
  const found = essentia.saturated(level, sound.sampleRate);
  const tops = found.map((sec) => topAt(level, Math.round(sec * sound.sampleRate)));
  // Clipping cuts all tops off at one height; slow peaks of loud notes are flat too, but each at its own height.
  if (tops.length === 0 || quantile(tops, 0.5) < SAME_HEIGHT * quantile(tops, 0.95)) return null;
  const places = spansOf(found, TOGETHER_SEC);
  const rate = found.length / sound.durationSec;
  if (found.length < FEWEST_FLAT || rate < FLAT_A_SEC) return null;
  return {
    kind: 'clipping',
    severity: rate > FLAT.severe ? 'severe' : rate > FLAT.marked ? 'marked' : 'slight',
    places,
    how: `${found.length} peaks`,
  };
}

function topAt(level: Float32Array, at: number): number {
  let top = 0;
  for (let i = Math.max(0, at - 2); i <= at + 2; i++) top = Math.max(top, Math.abs(level[i] ?? 0));
  return top;
}

/** What is this close to talk or to a gap belongs to it. */
const BESIDE_SEC = 0.3;
/** Detections this close together are one click. */
const ONE_CLICK_SEC = 0.01;

/**
 * How much sharper a click is than the waveform around it, within this many seconds: steep attacks and beats are not
 * clicks.
 */
const EDGE_TIMES = 5;
const EDGE_QUANTILE = 0.98;
const EDGE_AROUND_SEC = 0.02;
const EDGE_WITHIN = 96;

/** Plucked strings now and then begin with an edge. */
const MOST_PLUCKS = 3;

/** Finds clicks and pops (click detector of essentia.js; detections without an edge of their own are left out). */
export function findClicks(
  sound: Sound,
  essentia: Essentia,
  level: Float32Array,
  talk: readonly Span[],
  plucked: boolean,
): Detected | null {
  const secs = essentia
    .clicks(level, sound.sampleRate, edgeFinder(level, sound.sampleRate))
    .filter((at) => hasEdge(level, at, sound.sampleRate))
    .map((at) => at / sound.sampleRate);
  const places = outside(spansOf(secs, ONE_CLICK_SEC), talk);
  if (places.length <= (plucked ? MOST_PLUCKS : 0)) return null;
  return {
    kind: 'clicks',
    severity: places.length > 20 ? 'severe' : places.length > 4 ? 'marked' : 'slight',
    places,
    how: places.length === 1 ? 'one' : `${places.length} of them`,
  };
}

/** How sharply the waveform turns at a sample. */
const bendAt = (level: Float32Array, i: number): number =>
  Math.abs((level[i + 1] ?? 0) - 2 * (level[i] ?? 0) + (level[i - 1] ?? 0));

/** Whether the sharpest turn of the waveform near a place stands out from those around it. */
function hasEdge(level: Float32Array, at: number, sampleRate: number): boolean {
  const bend = (i: number): number => bendAt(level, i);
  let here = 0;
  for (let i = at - EDGE_WITHIN; i <= at + EDGE_WITHIN; i++) here = Math.max(here, bend(i));
  const around = Math.round(EDGE_AROUND_SEC * sampleRate);
  const others: number[] = [];
  for (let i = at - around; i <= at + around; i++) if (Math.abs(i - at) > EDGE_WITHIN) others.push(bend(i));
  return here > EDGE_TIMES * quantile(others, EDGE_QUANTILE);
}

/** Samples that are tested at once, when a whole frame may have an edge. */
const PLACES = 64;

/**
 * Tells whether a frame of the click detector can hold an edge, as `hasEdge` defines it. Few can, and the detector
 * takes longer than all other checks.
 */
function edgeFinder(level: Float32Array, sampleRate: number): (from: number) => boolean {
  const around = Math.round(EDGE_AROUND_SEC * sampleRate);
  const rank = Math.floor(EDGE_QUANTILE * 2 * (around - EDGE_WITHIN));
  /** The turns of one frame, beginning `around` samples before it. */
  const bends = new Float32Array(2 * around + CLICK_FRAME + 1);
  /**
   * Whether any of these samples can be an edge: compares the sharpest turn near them with a lower bound of the
   * quantile of the turns around each. The bound takes the samples that the quantile leaves out to be the sharpest.
   */
  const canHave = (first: number, places: number): boolean => {
    let sharpest = 0;
    const end = first + around + places + EDGE_WITHIN;
    for (let k = first + around - EDGE_WITHIN; k <= end; k++) sharpest = Math.max(sharpest, bends[k]);
    return (
      sharpest > EDGE_TIMES * orderStatistic(bends.subarray(first, first + 2 * around + places + 1), rank)
    );
  };
  return (from) => {
    for (let k = 0; k < bends.length; k++) bends[k] = bendAt(level, from - around + k);
    if (!canHave(0, CLICK_FRAME)) return false;
    for (let first = 0; first < CLICK_FRAME; first += PLACES) if (canHave(first, PLACES)) return true;
    return false;
  };
}

/** Length of the blocks in which the level is measured. */
const BLOCK_SEC = 0.001;
/** A dropout: sound that falls and comes back by this much within two blocks; reeds take longer. */
const GONE_DB = 26;
const SHORTEST_BLOCKS = 4;
const LONGEST_BLOCKS = 400;
/** The level before and after is that of the loudest of this many blocks, a period of the lowest note. */
const AROUND_BLOCKS = 8;
/** A held note just before a gap has at least this share of its level within this many blocks. */
const HELD = 0.5;
const FADE_BLOCKS = 40;
/** Below this level relative to the peak, nothing would be lost. */
const SOFT_DB = -36;

/** Finds gaps in the sound with edges sharper than a reed's. [the detector of essentia.js finds none of them] */
export function findDropouts(sound: Sound, level: Float32Array, talk: readonly Span[]): Detected | null {
  const size = Math.max(8, Math.round(BLOCK_SEC * sound.sampleRate));
  const blocks = new Float32Array(Math.floor(level.length / size));
  for (let b = 0; b < blocks.length; b++) {
    let top = 0;
    for (let i = b * size; i < (b + 1) * size; i++) top = Math.max(top, Math.abs(level[i]));
    blocks[b] = top;
  }
  const gone = 10 ** (-GONE_DB / 20);
  const soft = 10 ** (SOFT_DB / 20);
  const loudest = (from: number, to: number): number => {
    let top = 0;
    for (let b = Math.max(0, from); b < Math.min(blocks.length, to); b++) top = Math.max(top, blocks[b]);
    return top;
  };
  const gaps: Span[] = [];
  for (let b = AROUND_BLOCKS; b < blocks.length - AROUND_BLOCKS; b++) {
    const before = loudest(b - AROUND_BLOCKS, b);
    if (before < soft || blocks[b + 1] > gone * before) continue;
    // Block b holds the edge itself.
    let end = b + 1;
    while (end < blocks.length && blocks[end] <= gone * before) end++;
    const length = end - b - 1;
    const after = loudest(end, end + AROUND_BLOCKS);
    // The note goes on at its own level: after a breath or the tongue it would have to start again.
    const sharp = blocks[b - 1] > gone * before * 4 || blocks[b - 2] > gone * before * 4;
    const back = loudest(end, end + 3) > 0.4 * before && after > 0.4 * before;
    // A note that fades out or in does so before and after its silence, too.
    const abrupt =
      before > HELD * loudest(b - FADE_BLOCKS, b) &&
      loudest(end, end + 3) > HELD * loudest(end, end + FADE_BLOCKS);
    if (length >= SHORTEST_BLOCKS && length <= LONGEST_BLOCKS && sharp && back && abrupt) {
      gaps.push({ fromSec: (b * size) / sound.sampleRate, toSec: (end * size) / sound.sampleRate });
    }
    b = Math.max(b, end);
  }
  const places = outside(gaps, talk);
  if (places.length === 0) return null;
  return {
    kind: 'dropouts',
    severity: places.length > 8 ? 'severe' : places.length > 2 ? 'marked' : 'slight',
    places,
    how: places.length === 1 ? 'one gap' : `${places.length} gaps`,
  };
}

/** A note that is cut off begins or ends this close to an end of the recording. */
const AT_END_SEC = 0.15;

/** Finds recordings that begin or end in the middle of a note (cut detector of essentia.js). */
export function findCuts(sound: Sound, essentia: Essentia, level: Float32Array): Detected[] {
  const { start, end } = essentia.cuts(level, sound.sampleRate);
  const { durationSec } = sound;
  const found: Detected[] = [];
  // Talk or other instruments that are cut off don't matter.
  const atStart = sound.notes.some(({ onsetSec }) => onsetSec < AT_END_SEC);
  const atEnd = sound.notes.some(({ offsetSec }) => offsetSec > durationSec - AT_END_SEC);
  if (start && atStart) {
    const places = [{ fromSec: 0, toSec: Math.min(0.1, durationSec) }];
    found.push({ kind: 'cut-start', severity: 'marked', places, how: '' });
  }
  if (end && atEnd) {
    const places = [{ fromSec: Math.max(0, durationSec - 0.1), toSec: durationSec }];
    found.push({ kind: 'cut-end', severity: 'marked', places, how: '' });
  }
  return found;
}

/** Voices and gaps have edges of their own. */
const outside = (places: readonly Span[], others: readonly Span[]): Span[] =>
  places.filter(
    ({ fromSec }) =>
      !others.some((span) => fromSec > span.fromSec - BESIDE_SEC && fromSec < span.toSec + BESIDE_SEC),
  );

/** Times as spans: those closer than `togetherSec` are joined. */
function spansOf(secs: readonly number[], togetherSec: number): Span[] {
  const spans: { fromSec: number; toSec: number }[] = [];
  for (const sec of secs) {
    const last = spans[spans.length - 1];
    if (last !== undefined && sec - last.toSec <= togetherSec) last.toSec = sec;
    else spans.push({ fromSec: sec, toSec: sec });
  }
  return spans;
}

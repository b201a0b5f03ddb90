import type { Kernel } from '../../kernel.ts';
import { DenseRunner } from './dense-runner.ts';
import { EVIDENCE_SLOTS, keepRow, type PitchEvidence, ROWS } from './evidence.ts';
import { Glance, glanceNumbers } from './glance.ts';
import {
  type Bins,
  INPUT_PAIRS,
  INPUT_ROWS,
  LEVEL,
  PLACES,
  placesBelow,
  positions,
  SPECTRUM_ROWS,
} from './network-places.ts';
import {
  countWeights,
  HEADS,
  halosAfter,
  keepLayers,
  type LayersAt,
  readWeights,
  type Weights,
} from './network-weights.ts';
import { LANES } from './quad-transform.ts';
import { keepPlaces } from './salience.ts';
import { BLOCK, WhereToLook } from './where-to-look.ts';

/** Nothing above this pitch is taken from the long spectrum. */
export const HIGHEST_LONG_MIDI = 116;
const GROWTH_GAIN = 8;
/**
 * A pitch is looked at again only if by itself it reaches these log odds somewhere in a block. In 59 takes two blocks in three
 * stay below; of 39,000 such blocks the second look raised 53 to -4 or more, and one to -2.
 */
const WORTH_A_SECOND_LOOK = -6;

/** Frames on each side on which an output depends, rounded up to a whole block. */
export const HALO = 32;
/** How many frames a layer reads beyond its ends. */
const REACH = 16;

/**
 * Hears for each pitch, from the spectra around its harmonics and how they change over 0.6 s, whether a note of it sounds,
 * begins, or is part of a shake. Layers along time are separable (a filter for each channel, then a mix of channels: Howard
 * et al., MobileNets, arXiv:1704.04861, 2017), and the input puts the harmonics side by side as in Bittner et al., "Deep
 * salience representations for f0 estimation" (ISMIR 2017). Each pitch is looked at twice: by itself, and again with what
 * was heard of the pitches whose partials could be mistaken for its own. Pitches are only examined where the harmonic comb
 * found a candidate. `training/README.md` describes the training.
 */
export class PitchNetwork {
  readonly #kernel: Kernel;
  readonly #weights: Weights;
  readonly #frames: number;
  readonly #stride: number;
  /** The spectra, of which the long and the short one share rows; then level and growth, which share a row. */
  readonly #rowsAt: number;
  readonly #glance: Glance;
  readonly #spectrumAt: number;
  readonly #placesAt: { readonly long: number; readonly short: number };
  readonly #counts: { readonly long: number; readonly short: number };
  readonly #weightsAt: LayersAt;
  readonly #dense: DenseRunner;
  readonly #filteredAt: number;
  readonly #secondAt: number;
  readonly #workAt: number;
  readonly #hiddenAt: readonly number[];
  readonly #headsAt: readonly number[];
  readonly #toldAt: number;
  /** How far beyond a stretch the output of the first layer and of each block is needed by later blocks, in frames. */
  readonly #halos: readonly number[];
  /** Frames are counted from the start of the halo. */
  readonly #where: WhereToLook;

  /**
   * @param frames  frames to process at once, without the halo, a multiple of its block (see WhereToLook)
   * @param bins  bin spacing in Hz and number of bins of the long and the short spectrum
   * @param offset  see PitchEvidence
   */
  constructor(
    kernel: Kernel,
    frames: number,
    bins: { readonly long: Bins; readonly short: Bins },
    offset: number,
  ) {
    const weights = readWeights();
    this.#kernel = kernel;
    this.#weights = weights;
    this.#frames = frames + 2 * HALO;
    this.#stride = this.#frames + 2 * REACH;
    const { long, short } = bins;
    this.#counts = {
      long: placesBelow(long, offset, HIGHEST_LONG_MIDI),
      short: placesBelow(short, offset, Infinity),
    };
    this.#placesAt = {
      long: keepPlaces(kernel, positions(long, offset, this.#counts.long)),
      short: keepPlaces(kernel, positions(short, offset, this.#counts.short)),
    };
    this.#spectrumAt = kernel.reserve(LANES * PLACES);
    this.#rowsAt = this.#reserveRows(SPECTRUM_ROWS);
    this.#glance = new Glance(kernel, this.#frames);
    this.#weightsAt = keepLayers(kernel, weights);
    const { channels, second } = weights;
    const most = Math.max(weights.inputs / 2, channels / 2 + second.beside.length, second.channels / 2);
    this.#dense = new DenseRunner(kernel, 4 * this.#stride, most);
    this.#filteredAt = this.#reserveRows(channels / 2);
    this.#secondAt = this.#reserveRows(second.channels / 2);
    this.#workAt = this.#reserveRows(channels);
    this.#hiddenAt = Array.from({ length: ROWS }, () => this.#reserveRows(channels / 2));
    this.#headsAt = Array.from({ length: ROWS }, () => this.#reserveRows(HEADS));
    this.#toldAt = this.#reserveRows(ROWS);
    this.#where = new WhereToLook(this.#frames);
    this.#halos = halosAfter(weights.blocks);
  }

  /** Forgets which pitches to look at. */
  begin(): void {
    this.#where.clear();
  }

  /** Requests a look at a pitch around a frame, counted from the start of the halo. */
  lookAt(midiAboveOffset: number, frame: number): void {
    this.#where.add(midiAboveOffset, frame);
  }

  /**
   * Takes the compressed spectra (see Salience) of four stretches for frames `frame`, `frame + 2`, …; a long spectrum also
   * serves the frame after each of these.
   * @param frame  from the start of the halo
   */
  takeSpectra(compressedAt: number, which: 'long' | 'short', frame: number): void {
    const { code } = this.#kernel;
    code.interpolate(compressedAt, this.#placesAt[which], this.#counts[which], this.#spectrumAt);
    code.spread(
      this.#spectrumAt,
      this.#counts[which],
      this.#rowsAt + 4 * (REACH + frame) + (which === 'long' ? 0 : 2),
      4 * this.#stride,
      which === 'long' ? 1 : 0,
    );
  }

  /** Fills in the evidence of frames [from, to); their spectra must have been taken, from the start of the halo on. */
  fill(from: number, to: number, evidence: PitchEvidence): void {
    const { code } = this.#kernel;
    const first = this.#rowsAt + 4 * REACH;
    const stride = 4 * this.#stride;
    code.growth(first, PLACES, stride, this.#frames, GROWTH_GAIN, first + LEVEL * stride);
    this.#glance.take(first, stride);
    evidence.rows.fill(0, from * EVIDENCE_SLOTS, to * EVIDENCE_SLOTS);
    this.#kernel.words.fill(0, this.#toldAt / 4, this.#toldAt / 4 + ROWS * this.#stride);
    this.#where.eachStretch(HALO, (row, from, to) => {
      this.#glance.eachEmpty(row, from, to, (frame) => this.#where.forget(row, frame));
    });
    this.#where.eachStretch(HALO, (row, from, to) => this.#hearAlone(row, from, to));
    this.#where.eachStretch(HALO, (row, first, end) => {
      this.#hearAmongOthers(row, first, end);
      const origin = from - HALO;
      const heads = this.#headsAt[row] / 4 + REACH + first;
      const { floats } = this.#kernel;
      keepRow(evidence, row, origin + first, Math.min(to, origin + end), floats, heads, this.#stride);
    });
  }

  /** Computes hidden values and heads of one row by itself for frames [from, to), and what the other rows are given of it. */
  #hearAlone(row: number, from: number, to: number): void {
    const { code } = this.#kernel;
    const stride = 4 * this.#stride;
    const [halo, ...halos] = this.#halos;
    const start = 4 * (REACH + from - halo);
    const { channels } = this.#weights;
    const { first, blocks, heads } = this.#weightsAt;
    for (let pair = 0; pair < INPUT_PAIRS; pair++) {
      this.#dense.put(pair, this.#rowsAt + INPUT_ROWS[row * INPUT_PAIRS + pair] * stride + start);
    }
    const workAt = this.#workAt + start;
    const filteredAt = this.#filteredAt + start;
    const inside = 4 * (REACH + from);
    const hiddenAt = this.#hiddenAt[row] + inside;
    this.#dense.run(first, to - from + 2 * halo, workAt);
    blocks.forEach((block, i) => {
      const left = halos[i];
      const at = 4 * (halo - left);
      const wanted = to - from + 2 * left;
      code.depthwise(workAt + at, channels, block.depthwise, block.dilation, wanted, filteredAt + at, stride);
      this.#dense.putChannels(filteredAt + at, channels);
      const isLast = i === blocks.length - 1;
      this.#dense.run(block, wanted, isLast ? hiddenAt : workAt + at, { added: workAt + at, packed: isLast });
    });
    const headsAt = this.#headsAt[row] + inside;
    this.#dense.putChannels(hiddenAt, channels);
    this.#dense.run(heads, to - from, headsAt, { linear: true });
    code.tell(headsAt, headsAt + stride, to - from, this.#toldRow(row) + inside);
    for (let t = from; t < to; t += BLOCK) {
      if (this.#mostOf(row, t, t + BLOCK) < WORTH_A_SECOND_LOOK) this.#where.forget(row, t);
    }
  }

  /** The highest log odds of a row in frames [from, to), sounding or onset. */
  #mostOf(row: number, from: number, to: number): number {
    const { floats } = this.#kernel;
    const sounding = this.#headsAt[row] / 4 + REACH;
    const onset = sounding + this.#stride;
    let most = Number.NEGATIVE_INFINITY;
    for (let t = from; t < to; t++) most = Math.max(most, floats[sounding + t], floats[onset + t]);
    return most;
  }

  /** Adds to the heads of one row for frames [from, to) what follows from the pitches that sound with it. */
  #hearAmongOthers(row: number, from: number, to: number): void {
    const inside = 4 * (REACH + from);
    const { beside, channels: seconds } = this.#weights.second;
    const { second, secondHeads } = this.#weightsAt;
    let input = this.#dense.putChannels(this.#hiddenAt[row] + inside, this.#weights.channels);
    for (const apart of beside) {
      const other = row + apart;
      const outside = other < 0 || other >= ROWS;
      this.#dense.put(input++, outside ? this.#nothingAt(inside) : this.#toldRow(other) + inside);
    }
    const secondAt = this.#secondAt + inside;
    this.#dense.run(second, to - from, secondAt, { packed: true });
    this.#dense.putChannels(secondAt, seconds);
    const headsAt = this.#headsAt[row] + inside;
    this.#dense.run(secondHeads, to - from, headsAt, { linear: true, added: headsAt });
  }

  /** Byte offset of the row that the others are given: sounding and onset. */
  #toldRow(row: number): number {
    return this.#toldAt + 4 * row * this.#stride;
  }

  /** A row of zeros, for pitches beyond the spectra. */
  #nothingAt(start: number): number {
    return this.#rowsAt + (PLACES - 1) * 4 * this.#stride + start;
  }

  #reserveRows(count: number): number {
    return this.#kernel.reserve(count * this.#stride);
  }
}

/** Bytes of the kernel's memory that a network for this many frames takes. */
export function networkBytes(frames: number): number {
  const weights = readWeights();
  const { channels, second, inputs } = weights;
  const rows = PLACES + 1 + (3 * channels) / 2 + second.channels / 2 + ROWS * (channels / 2 + HEADS + 1);
  return (
    4 *
    (rows * (frames + 2 * HALO + 2 * REACH + 4) +
      countWeights(weights) +
      2 * inputs +
      12 * PLACES +
      glanceNumbers(frames + 2 * HALO) +
      8192)
  );
}

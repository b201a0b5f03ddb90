import type { Kernel } from '../../kernel.ts';
import { EVIDENCE_SLOTS, keepEvidence, LOWEST_ROW_MIDI, type PitchEvidence, ROWS } from './evidence.ts';
import {
  type Bins,
  LOWEST_PLACE_MIDI,
  PLACES,
  PLACES_PER_SEMITONE,
  placesBelow,
  positions,
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
import { WhereToLook } from './where-to-look.ts';

/** Nothing above is taken from the long spectrum. */
export const HIGHEST_LONG_MIDI = 116;
/** Where it looks, in places from the pitch: a third of a semitone around eight harmonics, and between them. */
const AROUND_HARMONICS = [0, 36, 57, 72, 84, 93, 101, 108].flatMap((place) => [place - 1, place, place + 1]);
const BESIDE = [-3, 3, -36, -57, -72, -21, 21, 48, 65, 78];
const LOOKS = [...AROUND_HARMONICS, ...BESIDE];
const GROWTH_GAIN = 8;

/** Frames on each side that an output depends on, rounded up to a block. */
export const HALO = 32;
/** A layer reads so many frames beyond its ends. */
const REACH = 16;
/** What each pitch is told of the others: sounding and onset. */
const TOLD = 2;

/**
 * Hears for each pitch, from the spectra around its harmonics and how they change over 0.6 s, whether a note of it
 * sounds, begins, or is part of a shake. Layers along time are separable (a filter for each channel, then a mix of
 * channels: Howard et al., MobileNets, arXiv:1704.04861, 2017), the harmonics stand beside each other at the input as in
 * Bittner et al., "Deep salience representations for f0 estimation" (ISMIR 2017). Each pitch is looked at twice: by itself,
 * and knowing what was heard of the pitches whose partials may pass for its own. How it was trained is said in
 * `training/README.md`; pitches are only looked at where the harmonic comb found a candidate.
 */
export class PitchNetwork {
  readonly #kernel: Kernel;
  readonly #weights: Weights;
  readonly #frames: number;
  readonly #stride: number;
  readonly #rowsAt: { readonly long: number; readonly short: number };
  readonly #levelAt: number;
  readonly #growthAt: number;
  readonly #spectrumAt: number;
  readonly #placesAt: { readonly long: number; readonly short: number };
  readonly #counts: { readonly long: number; readonly short: number };
  readonly #weightsAt: LayersAt;
  readonly #inputsAt: number;
  readonly #filteredAt: number;
  readonly #secondAt: number;
  readonly #workAt: number;
  readonly #hiddenAt: readonly number[];
  readonly #headsAt: readonly number[];
  readonly #toldAt: number;
  /** How far beyond a stretch what each block gives is still needed by those after it, in frames. */
  readonly #halos: readonly number[];
  /** Frames are counted from the beginning of the halo. */
  readonly #where: WhereToLook;

  /**
   * @param frames that are worked on at once, without the halo, a multiple of its block (see WhereToLook)
   * @param bins bin spacing in Hz and number of bins of the long and the short spectrum
   * @param offset see PitchEvidence
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
    this.#rowsAt = { long: this.#reserveRows(PLACES), short: this.#reserveRows(PLACES) };
    this.#levelAt = this.#reserveRows(1);
    this.#growthAt = this.#reserveRows(1);
    this.#weightsAt = keepLayers(kernel, weights);
    this.#inputsAt = kernel.reserve(
      Math.max(weights.inputs, weights.channels + TOLD * weights.second.beside.length),
    );
    this.#filteredAt = this.#reserveRows(weights.channels);
    this.#secondAt = this.#reserveRows(weights.second.channels);
    this.#workAt = this.#reserveRows(weights.channels);
    this.#hiddenAt = Array.from({ length: ROWS }, () => this.#reserveRows(weights.channels));
    this.#headsAt = Array.from({ length: ROWS }, () => this.#reserveRows(HEADS));
    this.#toldAt = this.#reserveRows(TOLD * ROWS);
    this.#where = new WhereToLook(this.#frames);
    this.#halos = halosAfter(weights.blocks);
  }

  /** Forgets which pitches were to be looked at. */
  begin(): void {
    this.#where.clear();
  }

  /** Lets a pitch be looked at around a frame, counted from the beginning of the halo. */
  lookAt(midiAboveOffset: number, frame: number): void {
    this.#where.add(midiAboveOffset, frame);
  }

  /**
   * Takes the compressed spectra (see Salience) of four stretches as those of frames frame, frame + 2 …, or of these and
   * the frames after each for the long one.
   * @param frame from the beginning of the halo
   */
  takeSpectra(compressedAt: number, which: 'long' | 'short', frame: number): void {
    const { code } = this.#kernel;
    code.interpolate(compressedAt, this.#placesAt[which], this.#counts[which], this.#spectrumAt);
    code.spread(
      this.#spectrumAt,
      this.#counts[which],
      this.#rowsAt[which] + 4 * (REACH + frame),
      4 * this.#stride,
      which === 'long' ? 1 : 0,
    );
  }

  /** Fills the evidence of frames [from, to), whose spectra were taken from the beginning of the halo on. */
  fill(from: number, to: number, evidence: PitchEvidence): void {
    const { code } = this.#kernel;
    const frames = this.#frames;
    code.growth(
      this.#rowsAt.short + 4 * REACH,
      PLACES,
      4 * this.#stride,
      frames,
      GROWTH_GAIN,
      this.#levelAt + 4 * REACH,
      this.#growthAt + 4 * REACH,
    );
    evidence.rows.fill(0, from * EVIDENCE_SLOTS, to * EVIDENCE_SLOTS);
    this.#kernel.floats.fill(0, this.#toldAt / 4, this.#toldAt / 4 + TOLD * ROWS * this.#stride);
    this.#where.eachStretch(HALO, (row, first, end) => this.#hearAlone(row, first, end));
    this.#where.eachStretch(HALO, (row, first, end) => {
      this.#hearAmongOthers(row, first, end);
      this.#keep(row, first, end, from - HALO, to, evidence);
    });
  }

  /** Leaves hidden values and heads of one row by itself for frames [from, to) in place, and what the others are told. */
  #hearAlone(row: number, from: number, to: number): void {
    const { code } = this.#kernel;
    const stride = 4 * this.#stride;
    const start = 4 * (REACH + from - HALO);
    const count = to - from + 2 * HALO;
    const { channels, inputs } = this.#weights;
    const { first, blocks, heads } = this.#weightsAt;
    const pitch = PLACES_PER_SEMITONE * (LOWEST_ROW_MIDI + row - LOWEST_PLACE_MIDI);
    let input = 0;
    for (const rowsAt of [this.#rowsAt.long, this.#rowsAt.short]) {
      for (const look of LOOKS) {
        const place = pitch + look;
        const outside = place < 0 || place >= PLACES;
        this.#putInput(input++, outside ? this.#nothingAt(start) : rowsAt + place * stride + start);
      }
    }
    this.#putInput(input++, this.#levelAt + start);
    this.#putInput(input, this.#growthAt + start);
    const inputsAt = this.#inputsAt;
    const workAt = this.#workAt + start;
    const filteredAt = this.#filteredAt + start;
    code.dense(inputsAt, inputs, first.weights, first.bias, channels, count, workAt, stride, 0, 0);
    blocks.forEach(({ depthwise, dilation, weights, bias }, i) => {
      const left = this.#halos[i];
      const at = 4 * (HALO - left);
      const wanted = to - from + 2 * left;
      code.depthwise(workAt + at, channels, depthwise, dilation, wanted, filteredAt + at, stride);
      this.#putChannels(filteredAt + at, channels);
      code.dense(inputsAt, channels, weights, bias, channels, wanted, workAt + at, stride, 0, 1);
    });
    const inside = 4 * (REACH + from);
    const headsAt = this.#headsAt[row] + inside;
    this.#putChannels(this.#workAt + inside, channels);
    code.dense(inputsAt, channels, heads.weights, heads.bias, HEADS, to - from, headsAt, stride, 1, 0);
    for (let head = 0; head < TOLD; head++)
      code.tell(headsAt + head * stride, to - from, this.#toldRow(row, head) + inside);
    // Only what is inside: the halo of a stretch lies on the one before.
    for (let channel = 0; channel < channels; channel++) {
      const work = (this.#workAt + inside + channel * stride) / 4;
      this.#kernel.floats.copyWithin(
        (this.#hiddenAt[row] + inside + channel * stride) / 4,
        work,
        work + to - from,
      );
    }
  }

  /** Adds to the heads of one row for frames [from, to) what follows from the pitches that sound beside it. */
  #hearAmongOthers(row: number, from: number, to: number): void {
    const { code } = this.#kernel;
    const stride = 4 * this.#stride;
    const inside = 4 * (REACH + from);
    const { channels } = this.#weights;
    const { beside, channels: seconds } = this.#weights.second;
    const { second, secondHeads } = this.#weightsAt;
    const inputsAt = this.#inputsAt;
    let input = this.#putChannels(this.#hiddenAt[row] + inside, channels);
    for (const apart of beside) {
      const other = row + apart;
      const outside = other < 0 || other >= ROWS;
      for (let head = 0; head < TOLD; head++)
        this.#putInput(input++, outside ? this.#nothingAt(inside) : this.#toldRow(other, head) + inside);
    }
    const secondAt = this.#secondAt + inside;
    code.dense(inputsAt, input, second.weights, second.bias, seconds, to - from, secondAt, stride, 0, 0);
    this.#putChannels(secondAt, seconds);
    const headsAt = this.#headsAt[row] + inside;
    code.dense(
      inputsAt,
      seconds,
      secondHeads.weights,
      secondHeads.bias,
      HEADS,
      to - from,
      headsAt,
      stride,
      1,
      1,
    );
  }

  /** Byte offset of a row of what the others are told. */
  #toldRow(row: number, head: number): number {
    return this.#toldAt + 4 * (TOLD * row + head) * this.#stride;
  }

  /** Leaves the byte offset of one input of a layer in place. */
  #putInput(input: number, at: number): void {
    this.#kernel.words[this.#inputsAt / 4 + input] = at;
  }

  /** Lets a layer take channels that stand one after the other for its first inputs. @returns how many there are */
  #putChannels(at: number, count: number): number {
    for (let channel = 0; channel < count; channel++)
      this.#putInput(channel, at + channel * 4 * this.#stride);
    return count;
  }

  /** A row of zeros: what lies outside the spectra. */
  #nothingAt(start: number): number {
    return this.#rowsAt.long + (PLACES - 1) * 4 * this.#stride + start;
  }

  /** @param origin frame at the beginning of the halo */
  #keep(row: number, from: number, to: number, origin: number, end: number, evidence: PitchEvidence): void {
    const { floats } = this.#kernel;
    const head = this.#headsAt[row] / 4 + REACH;
    for (let t = from; t < to && origin + t < end; t++) {
      const at = head + t;
      keepEvidence(
        evidence,
        origin + t,
        row,
        floats[at],
        floats[at + this.#stride],
        floats[at + 2 * this.#stride],
      );
    }
  }

  #reserveRows(count: number): number {
    return this.#kernel.reserve(count * this.#stride);
  }
}

/** Bytes of the kernel's memory that a network for so many frames takes. */
export function networkBytes(frames: number): number {
  const weights = readWeights();
  const { channels, second, inputs } = weights;
  const rows = 2 * PLACES + 2 * channels + second.channels + 2 + ROWS * (channels + HEADS + TOLD);
  return (
    4 * (rows * (frames + 2 * HALO + 2 * REACH + 4) + countWeights(weights) + 2 * inputs + 12 * PLACES + 8192)
  );
}

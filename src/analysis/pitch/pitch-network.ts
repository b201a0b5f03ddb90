import { readFileSync } from 'node:fs';
import type { Kernel } from '../../kernel.ts';
import { midiToHz } from '../../units.ts';
import { EVIDENCE_SLOTS, LOWEST_ROW_MIDI, type PitchEvidence, ROWS, STEPS_PER_NAT } from './evidence.ts';
import { LANES } from './quad-transform.ts';
import { keepPlaces } from './salience.ts';

/** Weights as `pitch-network.json` holds them; matrices by output, then input. */
interface Weights {
  readonly channels: number;
  readonly inputs: number;
  readonly first: { readonly weights: readonly number[]; readonly bias: readonly number[] };
  readonly blocks: readonly {
    readonly dilation: number;
    readonly depthwise: readonly number[];
    readonly weights: readonly number[];
    readonly bias: readonly number[];
  }[];
  readonly heads: { readonly weights: readonly number[]; readonly bias: readonly number[] };
}

/** The log-frequency spectra that the network sees: three places a semitone. */
const PLACES_PER_SEMITONE = 3;
const LOWEST_PLACE_MIDI = 28;
const PLACES = 324;
/** Nothing above is taken from the long spectrum. */
export const HIGHEST_LONG_MIDI = 116;
/** Where it looks, in places from the pitch: a third of a semitone around eight harmonics, and between them. */
const AROUND_HARMONICS = [0, 36, 57, 72, 84, 93, 101, 108].flatMap((place) => [place - 1, place, place + 1]);
const BESIDE = [-3, 3, -36, -57, -72, -21, 21, 48];
const LOOKS = [...AROUND_HARMONICS, ...BESIDE];
const GROWTH_GAIN = 8;

/** Frames on each side that an output depends on, rounded up to a block. */
export const HALO = 32;
/** Frames are worked on in blocks of so many. */
const BLOCK = 16;
/** A layer reads so many frames beyond its ends. */
const REACH = 16;
/** Heads are computed two at a time: sounding, onset, shake, and one that is not used. */
const HEADS = 4;
/** Log odds from which a pitch is kept. */
const LEAST_KEPT = -4 * STEPS_PER_NAT;

/**
 * Hears for each pitch, from the spectra around its harmonics and how they change over 0.6 s, whether a note of it
 * sounds, begins, or is part of a shake. Layers along time are separable (a filter for each channel, then a mix of
 * channels: Howard et al., MobileNets, arXiv:1704.04861, 2017), the harmonics stand beside each other at the input as in
 * Bittner et al., "Deep salience representations for f0 estimation" (ISMIR 2017). How it was trained is said in
 * `training/README.md`; pitches are only looked at where the harmonic comb found a candidate.
 */
export class PitchNetwork {
  readonly #kernel: Kernel;
  readonly #channels: number;
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
  readonly #hiddenInputsAt: { readonly hidden: number; readonly filtered: number };
  readonly #hiddenAt: number;
  readonly #filteredAt: number;
  readonly #headsAt: number;
  readonly #active: Uint8Array;

  /**
   * @param frames that are worked on at once, without the halo, a multiple of BLOCK
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
    this.#channels = weights.channels;
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
    this.#inputsAt = kernel.reserve(weights.inputs);
    this.#hiddenAt = this.#reserveRows(weights.channels);
    this.#filteredAt = this.#reserveRows(weights.channels);
    this.#headsAt = this.#reserveRows(HEADS);
    this.#hiddenInputsAt = {
      hidden: kernel.reserve(weights.channels),
      filtered: kernel.reserve(weights.channels),
    };
    this.#active = new Uint8Array((ROWS * this.#frames) / BLOCK);
  }

  /** Forgets which pitches were to be looked at. */
  begin(): void {
    this.#active.fill(0);
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

  /** Lets a pitch be looked at around a frame, counted from the beginning of the halo. */
  lookAt(midiAboveOffset: number, frame: number): void {
    const low = Math.ceil(midiAboveOffset - NEAR_SEMITONES) - LOWEST_ROW_MIDI;
    const high = Math.floor(midiAboveOffset + NEAR_SEMITONES) - LOWEST_ROW_MIDI;
    const blocks = this.#frames / BLOCK;
    const from = Math.max(0, Math.floor((frame - NEAR_FRAMES) / BLOCK));
    const to = Math.min(blocks - 1, Math.floor((frame + NEAR_FRAMES) / BLOCK));
    for (let row = Math.max(0, low); row <= Math.min(ROWS - 1, high); row++) {
      for (let block = from; block <= to; block++) this.#active[row * blocks + block] = 1;
    }
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
    const blocks = frames / BLOCK;
    const first = HALO / BLOCK;
    for (let row = 0; row < ROWS; row++) {
      let block = first;
      while (block < blocks - first) {
        if (this.#active[row * blocks + block] === 0) {
          block++;
          continue;
        }
        let end = block + 1;
        while (end < blocks - first && this.#active[row * blocks + end] === 1) end++;
        this.#run(row, block * BLOCK, end * BLOCK);
        this.#keep(row, block * BLOCK, end * BLOCK, from - HALO, to, evidence);
        block = end;
      }
    }
  }

  /** Leaves the heads of one row for frames [from, to) in place. */
  #run(row: number, from: number, to: number): void {
    const { code, words } = this.#kernel;
    const stride = 4 * this.#stride;
    const start = 4 * (REACH + from - HALO);
    const count = to - from + 2 * HALO;
    const channels = this.#channels;
    const { first, blocks, heads } = this.#weightsAt;
    const pitch = PLACES_PER_SEMITONE * (LOWEST_ROW_MIDI + row - LOWEST_PLACE_MIDI);
    let input = this.#inputsAt / 4;
    for (const rowsAt of [this.#rowsAt.long, this.#rowsAt.short]) {
      for (const look of LOOKS) {
        const place = pitch + look;
        words[input++] =
          place < 0 || place >= PLACES ? this.#nothingAt(start) : rowsAt + place * stride + start;
      }
    }
    words[input++] = this.#levelAt + start;
    words[input] = this.#growthAt + start;
    for (let c = 0; c < channels; c++) {
      words[this.#hiddenInputsAt.hidden / 4 + c] = this.#hiddenAt + c * stride + start;
      words[this.#hiddenInputsAt.filtered / 4 + c] = this.#filteredAt + c * stride + start;
    }
    const hiddenAt = this.#hiddenAt + start;
    const filteredAt = this.#filteredAt + start;
    code.dense(
      this.#inputsAt,
      first.inputs,
      first.weights,
      first.bias,
      channels,
      count,
      hiddenAt,
      stride,
      0,
      0,
    );
    for (const { depthwise, dilation, weights, bias } of blocks) {
      code.depthwise(hiddenAt, channels, depthwise, dilation, count, filteredAt, stride);
      code.dense(
        this.#hiddenInputsAt.filtered,
        channels,
        weights,
        bias,
        channels,
        count,
        hiddenAt,
        stride,
        0,
        1,
      );
    }
    const headsAt = this.#headsAt + start;
    code.dense(
      this.#hiddenInputsAt.hidden,
      channels,
      heads.weights,
      heads.bias,
      HEADS,
      count,
      headsAt,
      stride,
      1,
      0,
    );
  }

  /** A row of zeros: what lies outside the spectra. */
  #nothingAt(start: number): number {
    return this.#rowsAt.long + (PLACES - 1) * 4 * this.#stride + start;
  }

  /** @param origin frame at the beginning of the halo */
  #keep(row: number, from: number, to: number, origin: number, end: number, evidence: PitchEvidence): void {
    const { floats } = this.#kernel;
    const { rows, sounding, onset, shake } = evidence;
    const head = this.#headsAt / 4 + REACH;
    for (let t = from; t < to && origin + t < end; t++) {
      const heard = toSteps(floats[head + t]);
      const begun = toSteps(floats[head + this.#stride + t]);
      const loudest = Math.max(heard, begun);
      if (loudest < LEAST_KEPT) continue;
      const first = (origin + t) * EVIDENCE_SLOTS;
      let slot = first;
      let weakest = Number.POSITIVE_INFINITY;
      for (let s = first; s < first + EVIDENCE_SLOTS; s++) {
        const there = rows[s] === 0 ? Number.NEGATIVE_INFINITY : Math.max(sounding[s], onset[s]);
        if (there < weakest) {
          weakest = there;
          slot = s;
        }
      }
      if (weakest >= loudest) continue;
      rows[slot] = row + 1;
      sounding[slot] = heard;
      onset[slot] = begun;
      shake[slot] = toSteps(floats[head + 2 * this.#stride + t]);
    }
  }

  #reserveRows(count: number): number {
    return this.#kernel.reserve(count * this.#stride);
  }
}

/** How near to a candidate a pitch is looked at, in semitones and in frames. */
const NEAR_SEMITONES = 0.7;
const NEAR_FRAMES = 6;

/** The bins of a spectrum. */
export interface Bins {
  readonly binHz: number;
  readonly bins: number;
}

const placeMidi = (place: number, offset: number): number =>
  LOWEST_PLACE_MIDI + place / PLACES_PER_SEMITONE + offset;

/** How many places lie on the spectrum. */
function placesBelow({ binHz, bins }: Bins, offset: number, highestMidi: number): number {
  let count = 0;
  while (
    count < PLACES - 1 &&
    placeMidi(count, 0) <= highestMidi &&
    midiToHz(placeMidi(count, offset)) / binHz <= bins - 3
  )
    count++;
  return count;
}

function positions({ binHz }: Bins, offset: number, count: number): number[] {
  return Array.from({ length: count }, (_, place) => midiToHz(placeMidi(place, offset)) / binHz);
}

function toSteps(logOdds: number): number {
  return Math.max(-127, Math.min(127, Math.round(STEPS_PER_NAT * logOdds)));
}

/** Byte offsets of the weights in the kernel's memory. */
interface LayersAt {
  readonly first: { readonly inputs: number; readonly weights: number; readonly bias: number };
  readonly blocks: readonly {
    readonly dilation: number;
    readonly depthwise: number;
    readonly weights: number;
    readonly bias: number;
  }[];
  readonly heads: { readonly weights: number; readonly bias: number };
}

function keepLayers(kernel: Kernel, { inputs, channels, first, blocks, heads }: Weights): LayersAt {
  const padded = (values: readonly number[], length: number): number =>
    kernel.keep(Float64Array.from({ length }, (_, i) => values[i] ?? 0));
  return {
    first: { inputs, weights: kernel.keep(first.weights), bias: kernel.keep(first.bias) },
    blocks: blocks.map(({ dilation, depthwise, weights, bias }) => ({
      dilation,
      depthwise: kernel.keep(depthwise),
      weights: kernel.keep(weights),
      bias: kernel.keep(bias),
    })),
    heads: { weights: padded(heads.weights, HEADS * channels), bias: padded(heads.bias, HEADS) },
  };
}

let kept: Weights | undefined;

function readWeights(): Weights {
  kept ??= JSON.parse(readFileSync(new URL('./pitch-network.json', import.meta.url), 'utf8')) as Weights;
  return kept;
}

/** Bytes of the kernel's memory that a network for so many frames takes. */
export function networkBytes(frames: number): number {
  const { channels, inputs } = readWeights();
  const rows = 2 * PLACES + 2 * channels + HEADS + 2;
  return 4 * (rows * (frames + 2 * HALO + 2 * REACH + 4) + (inputs + 4) * channels * 5 + 12 * PLACES + 4096);
}

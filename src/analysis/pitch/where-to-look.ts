import { LOWEST_ROW_MIDI, ROWS } from './evidence.ts';

/** Frames are processed in blocks of this many. */
export const BLOCK = 16;
/** A pitch is looked at if it is this close to a candidate, in semitones and in frames. */
const NEAR_SEMITONES = 0.7;
const NEAR_FRAMES = 6;

/** Which pitches to look at in which blocks of frames: those close to a candidate of the harmonic comb. */
export class WhereToLook {
  readonly #blocks: number;
  readonly #active: Uint8Array;

  /** @param frames  a multiple of BLOCK */
  constructor(frames: number) {
    this.#blocks = frames / BLOCK;
    this.#active = new Uint8Array(ROWS * this.#blocks);
  }

  /** Forgets which pitches to look at. */
  clear(): void {
    this.#active.fill(0);
  }

  /** Requests a look at a pitch around a frame, counted from the first. */
  add(midiAboveOffset: number, frame: number): void {
    const low = Math.ceil(midiAboveOffset - NEAR_SEMITONES) - LOWEST_ROW_MIDI;
    const high = Math.floor(midiAboveOffset + NEAR_SEMITONES) - LOWEST_ROW_MIDI;
    const blocks = this.#blocks;
    const from = Math.max(0, Math.floor((frame - NEAR_FRAMES) / BLOCK));
    const to = Math.min(blocks - 1, Math.floor((frame + NEAR_FRAMES) / BLOCK));
    for (let row = Math.max(0, low); row <= Math.min(ROWS - 1, high); row++) {
      for (let block = from; block <= to; block++) this.#active[row * blocks + block] = 1;
    }
  }

  /** Cancels the look at a pitch in the block that begins at a frame. */
  forget(row: number, frame: number): void {
    this.#active[row * this.#blocks + frame / BLOCK] = 0;
  }

  /**
   * Calls `visit` for each row and stretch of frames to look at, counted from the first; it may cancel blocks of its own row.
   * @param halo  frames to leave out at both ends, a multiple of BLOCK
   */
  eachStretch(halo: number, visit: (row: number, from: number, to: number) => void): void {
    const blocks = this.#blocks;
    const first = halo / BLOCK;
    for (let row = 0; row < ROWS; row++) {
      let block = first;
      while (block < blocks - first) {
        if (this.#active[row * blocks + block] === 0) {
          block++;
          continue;
        }
        let end = block + 1;
        while (end < blocks - first && this.#active[row * blocks + end] === 1) end++;
        visit(row, block * BLOCK, end * BLOCK);
        block = end;
      }
    }
  }
}

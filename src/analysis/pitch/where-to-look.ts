import { LOWEST_ROW_MIDI, ROWS } from './evidence.ts';

/** Frames are worked on in blocks of so many. */
export const BLOCK = 16;
/** How near to a candidate a pitch is looked at, in semitones and in frames. */
const NEAR_SEMITONES = 0.7;
const NEAR_FRAMES = 6;

/** Which pitches are looked at in which blocks of frames: those near a candidate of the harmonic comb. */
export class WhereToLook {
  readonly #blocks: number;
  readonly #active: Uint8Array;

  /** @param frames a multiple of BLOCK */
  constructor(frames: number) {
    this.#blocks = frames / BLOCK;
    this.#active = new Uint8Array(ROWS * this.#blocks);
  }

  /** Forgets which pitches were to be looked at. */
  clear(): void {
    this.#active.fill(0);
  }

  /** Lets a pitch be looked at around a frame, counted from the first. */
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

  /** Lets a pitch not be looked at again in the block that begins at a frame. */
  forget(row: number, frame: number): void {
    this.#active[row * this.#blocks + frame / BLOCK] = 0;
  }

  /**
   * Calls for each row and stretch of frames that is to be looked at, counted from the first; `visit` may forget blocks of its own.
   * @param halo frames at both ends that are left out, a multiple of BLOCK
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

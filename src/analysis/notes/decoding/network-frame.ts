import type { Kernel } from '../../../kernel.ts';
import { EVIDENCE_SLOTS, type PitchEvidence, ROWS, STEPS_PER_NAT } from '../../pitch/evidence.ts';

/** The network's log odds are limited to this, in nats. */
const MOST_NATS = 4;
/** The absence of an onset makes a new note dearer by at most this. */
const ONSET_NATS = 2;

/** Extra rows at both ends, always silent, for pitches that lie beyond the network's. */
export const ROW_MARGIN = 16;
export const NETWORK_ROWS = ROWS + 2 * ROW_MARGIN;

/** The network's evidence in one frame, by row + ROW_MARGIN, in nats, within ±MOST_NATS. */
export class NetworkFrame {
  /** Byte offsets in the kernel's memory, and the views there. */
  readonly soundingAt: number;
  readonly onsetAt: number;
  readonly shakeAt: number;
  readonly sounding: Float64Array;
  readonly onset: Float64Array;
  readonly shake: Float64Array;
  readonly #filled = new Int32Array(EVIDENCE_SLOTS);
  #count = 0;

  constructor(kernel: Kernel) {
    const length = NETWORK_ROWS;
    const [soundingAt, onsetAt, shakeAt] = [0, 0, 0].map(() => kernel.reserve(2 * length));
    this.soundingAt = soundingAt;
    this.onsetAt = onsetAt;
    this.shakeAt = shakeAt;
    this.sounding = kernel.doublesAt(soundingAt, length).fill(-MOST_NATS);
    this.onset = kernel.doublesAt(onsetAt, length).fill(-ONSET_NATS);
    this.shake = kernel.doublesAt(shakeAt, length).fill(-MOST_NATS);
  }

  read({ rows, sounding, onset, shake }: PitchEvidence, t: number): void {
    for (let i = 0; i < this.#count; i++) {
      const row = this.#filled[i];
      this.sounding[row] = this.shake[row] = -MOST_NATS;
      this.onset[row] = -ONSET_NATS;
    }
    this.#count = 0;
    for (let s = t * EVIDENCE_SLOTS; s < (t + 1) * EVIDENCE_SLOTS; s++) {
      if (rows[s] === 0) continue;
      const row = rows[s] - 1 + ROW_MARGIN;
      this.#filled[this.#count++] = row;
      this.sounding[row] = bounded(sounding[s], MOST_NATS);
      this.shake[row] = bounded(shake[s], MOST_NATS);
      this.onset[row] = Math.max(-ONSET_NATS, bounded(onset[s], MOST_NATS));
    }
  }
}

const bounded = (steps: number, most: number): number =>
  Math.max(-most, Math.min(most, steps / STEPS_PER_NAT));

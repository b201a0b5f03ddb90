import type { ContourPoint } from '../state/ears.ts';
import type { UiState } from '../state/state.ts';
import { type Contours, contourKey, windowOf } from '../view/window.ts';

/** Measures the contours of what is seen, a note at a time, so that keys are never kept waiting. */
export class ContourMeter {
  readonly #now: () => UiState;
  readonly #onMore: (contours: Contours) => void;
  #known: ReadonlyMap<string, readonly ContourPoint[]> = new Map();
  #isMeasuring = false;

  /**
   * @param now  the screen as it is at that moment
   * @param onMore  told of all contours whenever one was added
   */
  constructor(now: () => UiState, onMore: (contours: Contours) => void) {
    this.#now = now;
    this.#onMore = onMore;
  }

  /** Begins with what is missing; to be called whenever the screen shows something else. */
  measureSoon(): void {
    if (this.#isMeasuring || this.#now().ears === null) return;
    this.#isMeasuring = true;
    setImmediate(() => {
      this.#isMeasuring = false;
      this.#measureOne();
    });
  }

  #measureOne(): void {
    const state = this.#now();
    if (state.ears === null || state.ranges.length === 0) return;
    const { notes } = windowOf(state, state.size.columns);
    const next = notes.find((note) => !this.#known.has(contourKey(note)));
    if (next === undefined) return;
    this.#known = new Map([...this.#known, [contourKey(next), state.ears.contour(next)]]);
    this.#onMore(this.#known);
    this.measureSoon();
  }
}

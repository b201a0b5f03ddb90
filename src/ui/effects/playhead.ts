/** Time between two moves. */
const STEP_MS = 80;

/** Tells where the sound is, by the clock: sound players don't report it. */
export class Playhead {
  readonly #tell: (sec: number) => void;
  #timer: NodeJS.Timeout | null = null;

  /** @param tell  called with the position in the take that is sounding */
  constructor(tell: (sec: number) => void) {
    this.#tell = tell;
  }

  /** @param speed seconds of the take in a second */
  start(fromSec: number, speed: number): void {
    this.stop();
    const startedMs = performance.now();
    this.#timer = setInterval(
      () => this.#tell(fromSec + (speed * (performance.now() - startedMs)) / 1000),
      STEP_MS,
    );
  }

  stop(): void {
    if (this.#timer !== null) clearInterval(this.#timer);
    this.#timer = null;
  }
}

import { inWords, type Progress } from './progress.ts';

/** How many must be done before the time left can be estimated. */
const GUESS_AFTER = 3;

/** One line for all recordings in progress: how many are done, and how long the rest may take. */
export class ProgressBoard {
  readonly #progress: Progress;
  readonly #total: number;
  readonly #now: () => number;
  readonly #lines = new Map<string, string>();
  #done = 0;
  /** Recordings that were worked on, rather than found to be done already. */
  #worked = 0;
  #workedSince: number | null = null;

  constructor(progress: Progress, total: number, now = () => performance.now()) {
    this.#progress = progress;
    this.#total = total;
    this.#now = now;
  }

  async follow<T>(label: string, work: (report: (stage: string, fraction: number) => void) => Promise<T>) {
    this.#workedSince ??= this.#now();
    try {
      return await work((stage, fraction) => {
        this.#lines.set(label, `${label}: ${stage} ${Math.round(100 * fraction)} %`);
        this.#progress.show([this.#summary(), ...this.#lines.values()].join(' · '));
      });
    } finally {
      this.#lines.delete(label);
      this.#worked++;
    }
  }

  /** One more is printed and saved, or was found to be already. */
  done(): void {
    this.#done++;
  }

  #summary(): string {
    const said = `${this.#done} of ${this.#total} done`;
    if (this.#worked < GUESS_AFTER || this.#workedSince === null) return said;
    const eachMs = (this.#now() - this.#workedSince) / this.#worked;
    return `${said}, ${inWords(eachMs * (this.#total - this.#done))}`;
  }
}

import type { Progress } from './progress.ts';

/** One line for all recordings that are under way. */
export class ProgressBoard {
  readonly #progress: Progress;
  readonly #lines = new Map<string, string>();

  constructor(progress: Progress) {
    this.#progress = progress;
  }

  async follow<T>(label: string, work: (report: (stage: string, fraction: number) => void) => Promise<T>) {
    try {
      return await work((stage, fraction) => {
        this.#lines.set(label, `${label}: ${stage} ${Math.round(100 * fraction)} %`);
        this.#progress.show([...this.#lines.values()].join(' · '));
      });
    } finally {
      this.#lines.delete(label);
    }
  }
}

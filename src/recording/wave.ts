/** Only this much of a long recording is judged: what is wrong with it is wrong from the start. */
export const MOST_SEC = 900;

/** Collects the samples of a file at its own rate, one channel, up to a quarter of an hour. */
export class WaveCollector {
  #chunks: Float32Array[] = [];
  #count = 0;
  #sampleRate = 0;
  #channel: number | null = null;
  /** True when the recording is longer than what was kept. */
  shortened = false;

  /** One array of samples for each channel. */
  push(planar: readonly Float32Array[], sampleRate: number): void {
    this.#sampleRate = sampleRate;
    const room = Math.floor(MOST_SEC * sampleRate) - this.#count;
    if (planar[0].length > room) this.shortened = true;
    if (room <= 0) return;
    const mono = planar[this.#channelOf(planar)].slice(0, room);
    this.#chunks.push(mono);
    this.#count += mono.length;
  }

  /**
   * A silent or inverted channel must not halve or cancel the other, so the channel that is louder at first is used.
   */
  #channelOf(planar: readonly Float32Array[]): number {
    if (this.#channel !== null) return this.#channel;
    const energies = planar.map((channel) => channel.reduce((sum, value) => sum + value * value, 0));
    const louder = energies.indexOf(Math.max(...energies));
    if (energies[louder] > 0) this.#channel = louder;
    return Math.max(0, louder);
  }

  /** What was collected; NaN becomes 0. */
  finish(): { readonly wave: Float32Array; readonly sampleRate: number } {
    const wave = new Float32Array(this.#count);
    let at = 0;
    for (const chunk of this.#chunks) {
      wave.set(chunk, at);
      at += chunk.length;
    }
    this.#chunks = [];
    return { wave: wave.map((value) => (Number.isFinite(value) ? value : 0)), sampleRate: this.#sampleRate };
  }
}

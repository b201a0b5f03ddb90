import { createRequire } from 'node:module';

/*
 * The only file that knows essentia.js 0.1.3 (AGPL-3.0). It removes the handlers that the library adds to the process,
 * frees its vectors at once, and turns its bare-number exceptions into messages.
 */

interface Vector {
  size(): number;
  get(at: number): number;
  delete(): void;
}
interface Library {
  arrayToVector(values: Float32Array): Vector;
  ClickDetector(
    frame: Vector,
    detectionThreshold: number,
    frameSize: number,
    hopSize: number,
    order: number,
    powerEstimationThreshold: number,
    sampleRate: number,
    silenceThreshold: number,
  ): { starts: Vector; ends: Vector };
  SaturationDetector(
    frame: Vector,
    differentialThreshold: number,
    energyThreshold: number,
    frameSize: number,
    hopSize: number,
    minimumDuration: number,
    sampleRate: number,
  ): { starts: Vector; ends: Vector };
  StartStopCut(
    audio: Vector,
    frameSize: number,
    hopSize: number,
    maximumStartTime: number,
    maximumStopTime: number,
    sampleRate: number,
    threshold: number,
  ): { startCut: number; stopCut: number };
  LoudnessEBUR128(
    left: Vector,
    right: Vector,
    hopSize: number,
    sampleRate: number,
    startAtZero: boolean,
  ): {
    momentaryLoudness: Vector;
    shortTermLoudness: Vector;
    integratedLoudness: number;
    loudnessRange: number;
  };
}

/** Frame of the click detector, and how far it moves. */
export const CLICK_FRAME = 512;
const HOP = 384;
const LPC_ORDER = 12;
const POWER_TIMES = 10;
const SILENT_DB = -50;
const CLICK_DB = 30;
/** Flat tops: neighbouring samples that differ by less than this, within 1 dB of the top. */
const FLAT = 0.001;
const TOP_DB = -1;
/** A cut: louder than this relative to the peak within this many milliseconds of the end. */
const CUT_DB = -26;
const CUT_MS = 10;
const CUT_FRAME = 256;
/** The most that one vector holds: ten seconds, so that hours fit. */
const CHUNK_SEC = 10;

/** Detectors of essentia.js on a recording whose peak is 1. */
export class Essentia {
  readonly #library: Library;

  private constructor(library: Library) {
    this.#library = library;
  }

  /** Loads it: 0.1 s and 16 MB. */
  static load(): Essentia {
    const hooks = ['uncaughtException', 'unhandledRejection'] as const;
    const before = hooks.map((hook) => process.listeners(hook as 'uncaughtException'));
    const module = createRequire(import.meta.url)('essentia.js') as {
      Essentia: new (wasm: unknown) => Library;
      EssentiaWASM: unknown;
    };
    // The library would end the process at any rejected promise, with its own source as the message.
    hooks.forEach((hook, i) => {
      for (const listener of process.listeners(hook as 'uncaughtException'))
        if (!before[i].includes(listener)) process.removeListener(hook, listener);
    });
    return new Essentia(new module.Essentia(module.EssentiaWASM));
  }

  /**
   * Samples at which clicks and pops lie: peaks in what linear prediction can't explain.
   * @param mayHold  whether a frame from this sample on may hold one; the others cost no time
   */
  clicks(wave: Float32Array, sampleRate: number, mayHold: (from: number) => boolean): number[] {
    const found: number[] = [];
    for (let at = 0; at + CLICK_FRAME <= wave.length; at += HOP) {
      if (!mayHold(at)) continue;
      this.#with([wave.subarray(at, at + CLICK_FRAME)], ([frame]) => {
        const { starts, ends } = this.#library.ClickDetector(
          frame,
          CLICK_DB,
          CLICK_FRAME,
          HOP,
          LPC_ORDER,
          POWER_TIMES,
          sampleRate,
          SILENT_DB,
        );
        // Positions are relative to the first frame seen, which here is every frame.
        for (let i = 0; i < starts.size(); i++) found.push(at + Math.round(starts.get(i) * sampleRate));
        starts.delete();
        ends.delete();
      });
    }
    return found;
  }

  /** Seconds at which flat tops begin. */
  saturated(wave: Float32Array, sampleRate: number): number[] {
    const found: number[] = [];
    const chunk = Math.round(CHUNK_SEC * sampleRate);
    for (let at = 0; at < wave.length; at += chunk) {
      const part = wave.subarray(at, at + chunk);
      if (part.length < CLICK_FRAME) break;
      this.#with([part], ([frame]) => {
        const { starts, ends } = this.#library.SaturationDetector(
          frame,
          FLAT,
          TOP_DB,
          part.length,
          part.length,
          // One sample, in milliseconds.
          1000 / sampleRate - 1e-6,
          sampleRate,
        );
        for (let i = 0; i < starts.size(); i++) found.push(at / sampleRate + starts.get(i));
        starts.delete();
        ends.delete();
      });
    }
    return found;
  }

  /** Whether the recording begins, and ends, at full sound. */
  cuts(wave: Float32Array, sampleRate: number): { readonly start: boolean; readonly end: boolean } {
    // Only the ends are needed.
    const side = Math.round(2 * sampleRate);
    const ends = (part: Float32Array): { startCut: number; stopCut: number } =>
      this.#with([part], ([audio]) =>
        this.#library.StartStopCut(audio, CUT_FRAME, CUT_FRAME, CUT_MS, CUT_MS, sampleRate, CUT_DB),
      );
    const head = ends(wave.subarray(0, side));
    const tail = ends(wave.subarray(Math.max(0, wave.length - side)));
    return { start: head.startCut === 1, end: tail.stopCut === 1 };
  }

  /** Integrated loudness by EBU R 128, in LUFS, of the first minutes only. */
  loudness(wave: Float32Array, sampleRate: number): number {
    return this.#with([wave], ([mono]) => {
      const found = this.#library.LoudnessEBUR128(mono, mono, 0.1, sampleRate, false);
      found.momentaryLoudness.delete();
      found.shortTermLoudness.delete();
      return found.integratedLoudness;
    });
  }

  #with<T>(arrays: readonly Float32Array[], work: (vectors: readonly Vector[]) => T): T {
    const vectors = arrays.map((array) => this.#library.arrayToVector(array));
    try {
      return work(vectors);
    } catch (error) {
      if (typeof error !== 'number') throw error;
      throw new Error(`essentia.js stopped with code ${error}`);
    } finally {
      for (const vector of vectors) vector.delete();
    }
  }
}

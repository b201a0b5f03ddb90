import { ShortConverter } from '../shorts.ts';

/** How samples are stored in a WAV or AIFF file. */
export interface PcmLayout {
  encoding: 'integer' | 'unsigned' | 'float';
  /** Bytes that one sample takes: 1, 2, 3, 4 or 8. Fewer valid bits are left-justified, so they need no care. */
  bytesPerSample: number;
  bigEndian: boolean;
  channels: number;
  sampleRate: number;
  /** Where the samples begin, in bytes from the start of the file. */
  dataStart: number;
  /** Announced size of the samples in bytes; Infinity if the writer did not know. */
  dataBytes: number;
}

/** Undoes interleaving and scales to ±1; keeps bytes of an unfinished frame for the next call. */
export class PcmUnpacker {
  readonly #layout: PcmLayout;
  readonly #frameBytes: number;
  #bytes = new Uint8Array(0);
  #kept = 0;
  #planes: Float32Array[];
  readonly #shorts: ShortConverter | null;

  constructor(layout: PcmLayout) {
    this.#layout = layout;
    const { encoding, bytesPerSample, channels } = layout;
    const quickly = encoding === 'integer' && bytesPerSample === 2 && channels <= 2;
    this.#shorts = quickly ? new ShortConverter(channels) : null;
    this.#frameBytes = layout.bytesPerSample * layout.channels;
    this.#planes = Array.from({ length: layout.channels }, () => new Float32Array(0));
  }

  /** One array for each channel, valid until the next call. */
  unpack(chunk: Uint8Array): Float32Array[] {
    const total = this.#kept + chunk.length;
    if (this.#bytes.length < total) {
      // A multiple of 8, so that views of any sample size fit.
      const grown = new Uint8Array(Math.ceil(total / 8) * 8);
      grown.set(this.#bytes.subarray(0, this.#kept));
      this.#bytes = grown;
    }
    this.#bytes.set(chunk, this.#kept);
    const frames = Math.floor(total / this.#frameBytes);
    const planes = this.#planesOf(frames);
    const used = frames * this.#frameBytes;
    this.#bytes.copyWithin(0, used, total);
    this.#kept = total - used;
    return planes;
  }

  #planesOf(frames: number): Float32Array[] {
    const { bytesPerSample, bigEndian, channels } = this.#layout;
    const samples = frames * channels;
    // The machine's byte order is little-endian on every platform that Node runs on, except s390x, where this works too
    // but is slow.
    if (bytesPerSample > 1 && bigEndian === LITTLE_ENDIAN_MACHINE) this.#swap(samples);
    if (this.#shorts !== null) return this.#shorts.convert(new Int16Array(this.#bytes.buffer, 0, samples));
    if (this.#planes[0].length < frames) this.#planes = this.#planes.map(() => new Float32Array(frames));
    const planes = this.#planes.map((plane) => plane.subarray(0, frames));
    if (bytesPerSample === 3) this.#convert24(planes, frames);
    else this.#convert(planes, frames);
    return planes;
  }

  #convert(planes: Float32Array[], frames: number): void {
    const { encoding, bytesPerSample } = this.#layout;
    const samples = frames * planes.length;
    const buffer = this.#bytes.buffer;
    let view: ArrayLike<number>;
    let scale = 1;
    let offset = 0;
    let step = 1;
    let first = 0;
    if (encoding === 'float') {
      view =
        bytesPerSample === 8 ? new Float64Array(buffer, 0, samples) : new Float32Array(buffer, 0, samples);
    } else if (bytesPerSample === 1) {
      view = encoding === 'unsigned' ? this.#bytes : new Int8Array(buffer, 0, samples);
      scale = 1 / 128;
      offset = encoding === 'unsigned' ? -128 : 0;
    } else if (bytesPerSample === 2) {
      view = new Int16Array(buffer, 0, samples);
      scale = 1 / 32768;
    } else {
      // Of 64-bit integers only the upper half is read: 32 bits are more than a float sample can hold.
      view = new Int32Array(buffer, 0, (samples * bytesPerSample) / 4);
      scale = 1 / 2147483648;
      step = bytesPerSample / 4;
      first = LITTLE_ENDIAN_MACHINE ? step - 1 : 0;
    }
    for (let c = 0; c < planes.length; c++) {
      const plane = planes[c];
      const stride = planes.length * step;
      for (let i = 0, at = c * step + first; i < frames; i++, at += stride) {
        plane[i] = (view[at] + offset) * scale;
      }
    }
  }

  #convert24(planes: Float32Array[], frames: number): void {
    const bytes = this.#bytes;
    const stride = planes.length * 3;
    const low = LITTLE_ENDIAN_MACHINE ? 0 : 2;
    for (let c = 0; c < planes.length; c++) {
      const plane = planes[c];
      for (let i = 0, at = c * 3; i < frames; i++, at += stride) {
        // Into the upper 24 bits, so that the sign is right.
        const value = (bytes[at + low] << 8) | (bytes[at + 1] << 16) | (bytes[at + 2 - low] << 24);
        plane[i] = value / 2147483648;
      }
    }
  }

  #swap(samples: number): void {
    const bytes = this.#bytes;
    const size = this.#layout.bytesPerSample;
    for (let start = 0, end = samples * size; start < end; start += size) {
      for (let a = start, b = start + size - 1; a < b; a++, b--) {
        const byte = bytes[a];
        bytes[a] = bytes[b];
        bytes[b] = byte;
      }
    }
  }
}

const LITTLE_ENDIAN_MACHINE = new Uint8Array(new Uint16Array([1]).buffer)[0] === 1;

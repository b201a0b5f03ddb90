import { ReedtraceError } from '../errors.ts';
import { StreamDecoder } from './codecs/codec.ts';
import type { DecodedSound } from './codecs/decoded-sound.ts';
import { DecoderLimitError } from './codecs/decoder-process.ts';
import { announcedLength } from './formats/announced.ts';
import { readCafHeader } from './formats/caf.ts';
import { headFirst } from './formats/head-first.ts';
import { fastStart } from './formats/mp4.ts';
import { checkFormat, damaged } from './formats/refuse.ts';
import type { Format } from './formats/sniff.ts';
import { readWavHeader } from './formats/wav.ts';
import { Mixdown } from './mixdown.ts';
import { checkLength, seconds, shortRemark } from './sound-length.ts';
import { type ByteSource, CHUNK_BYTES, type ReadWatch } from './source.ts';

/** The result of reading: the sound, and what the player should know about the file. */
export interface Outcome {
  mixdown: Mixdown;
  remarks: string[];
}

/** Called with the samples as they are in the file, by channel; they are valid until it returns. */
export type OnSamples = (planar: readonly Float32Array[], sampleRate: number) => void;

/** Reads a file that needs a codec: decoded piece by piece in another process, and mixed as it comes. */
export async function readCoded(
  source: ByteSource,
  format: Format,
  watch: ReadWatch,
  onSamples: OnSamples | undefined,
): Promise<Outcome> {
  const announced = await announcedLength(source, format);
  const sink = new SoundSink(source.file, onSamples);
  const { failure } = await decodeAll(source, format, watch, sink);
  const { mixdown } = sink;
  if (mixdown === null) throw nothingDecoded(source.file, format, failure);
  const remarks = shortRemark(mixdown, announced.seconds);
  if (remarks.length === 0 && failure !== undefined) {
    remarks.push(
      `the file is damaged after ${seconds(mixdown.frames / mixdown.sampleRate)}: the rest was left out`,
    );
  }
  if (remarks.length === 0 && announced.cut)
    remarks.push('the file has no proper end: it may have been cut off');
  return { mixdown, remarks };
}

/** Where decoded sound goes; the first piece decides how many channels there are. */
class SoundSink {
  readonly #file: string;
  readonly #onSamples: OnSamples | undefined;
  mixdown: Mixdown | null = null;

  constructor(file: string, onSamples: OnSamples | undefined) {
    this.#file = file;
    this.#onSamples = onSamples;
  }

  /** @returns how many samples there were, over all channels */
  take({ channelData, sampleRate }: DecodedSound): number {
    if (channelData.length === 0 || channelData[0].length === 0) return 0;
    if (this.mixdown === null) {
      checkFormat(this.#file, sampleRate, channelData.length);
      this.mixdown = new Mixdown(sampleRate, channelData.length, Number.POSITIVE_INFINITY);
    }
    const planar = matchChannels(channelData, this.mixdown.channels);
    this.#onSamples?.(planar, sampleRate);
    this.mixdown.push(planar);
    checkLength(this.#file, this.mixdown.frames / this.mixdown.sampleRate);
    return channelData.length * channelData[0].length;
  }
}

/** @returns the decoder's error, if it failed; whatever it produced before that is in the sink */
async function decodeAll(
  source: ByteSource,
  format: Format,
  watch: ReadWatch,
  sink: SoundSink,
): Promise<{ failure: unknown }> {
  let failure: unknown;
  const note = (error: unknown): DecodedSound => {
    if (error instanceof ReedtraceError) throw error;
    failure ??= error ?? new Error('unknown');
    return NO_SOUND;
  };
  const pieces = await piecesOf(source, format, watch);
  const decoder = await StreamDecoder.open(format.decoder, watch.signal);
  const size = new PieceSize();
  // While one piece is mixed the next is decoded.
  let under: Promise<DecodedSound> = Promise.resolve(NO_SOUND);
  const turn = async (next: () => Promise<DecodedSound>): Promise<void> => {
    const before = under;
    under = failure === undefined ? next().catch(note) : Promise.resolve(NO_SOUND);
    // Awaited in the next turn, unless an error ends this one.
    under.catch(() => {});
    size.learn(sink.take(await before));
  };
  try {
    for await (const piece of pieces) {
      for (let at = 0; at < piece.length; ) {
        if (failure !== undefined) break; // only hashed from here on
        // A copy, as the source reuses its buffers.
        const part = piece.slice(at, at + size.bytes);
        at += part.length;
        await turn(() => decoder.decode(part));
      }
    }
    await turn(() => decoder.end());
    sink.take(await under);
  } finally {
    await decoder.free();
  }
  return { failure };
}

const NO_SOUND: DecodedSound = { channelData: [], sampleRate: 0 };

/**
 * Samples that a piece may yield: 50 MB. If there are more, the next pieces are smaller: 64 kB of silence may be hours.
 */
const MOST_SAMPLES = 12 * 1024 * 1024;
const LARGEST_PIECE_BYTES = 64 * 1024 * 1024;
const SMALLEST_PIECE_BYTES = 1024;

/** How much of a file the decoder gets at once: the whole head, and silence in small pieces. */
class PieceSize {
  bytes = LARGEST_PIECE_BYTES;

  learn(samples: number): void {
    if (samples > MOST_SAMPLES)
      this.bytes = Math.max(SMALLEST_PIECE_BYTES, Math.min(this.bytes, CHUNK_BYTES) / 2);
    else if (samples < MOST_SAMPLES / 4) this.bytes = Math.min(LARGEST_PIECE_BYTES, 2 * this.bytes);
  }
}

/** The file in pieces for the decoder: heads that it would read again and again come whole. */
async function piecesOf(
  source: ByteSource,
  format: Format,
  watch: ReadWatch,
): Promise<AsyncGenerator<Uint8Array>> {
  switch (format.decoder) {
    case 'm4a':
      return fastStart(source, watch);
    case 'caf':
      return headFirst(source, (await readCafHeader(source)).dataStart, watch);
    case 'wav':
      return headFirst(source, (await readWavHeader(source)).dataStart, watch);
    default:
      return source.chunks(watch);
  }
}

/** Words in the errors of audio-decode for a sound container whose content it can't decode. */
const UNSUPPORTED = /unsupported|no decoder|no audio track|no .* audio track/i;

function nothingDecoded(file: string, format: Format, failure: unknown): ReedtraceError {
  if (failure instanceof Error && UNSUPPORTED.test(failure.message)) {
    return new ReedtraceError(
      'E_NOT_AUDIO',
      `'${file}' is a ${format.name} file without a sound track that can be read`,
      'convert its sound to WAV, FLAC or M4A first',
      { cause: failure },
    );
  }
  const why = failure instanceof DecoderLimitError ? failure.message : 'no sound could be decoded';
  return damaged(file, `it begins like ${format.name}, but ${why}`, failure);
}

/** Streams may change between mono and stereo; the first piece decides. */
function matchChannels(planar: readonly Float32Array[], channels: number): readonly Float32Array[] {
  if (planar.length === channels) return planar;
  return Array.from({ length: channels }, (_, c) => planar[c % planar.length]);
}

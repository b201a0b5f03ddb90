import { ReedtraceError } from '../errors.ts';
import { readAiffHeader } from './formats/aiff.ts';
import { announcedLength } from './formats/announced.ts';
import { openDecoder } from './formats/codec.ts';
import { fastStart } from './formats/mp4.ts';
import { type PcmLayout, PcmUnpacker } from './formats/pcm.ts';
import { checkFormat, damaged } from './formats/refuse.ts';
import { type Format, recogniseFormat, SNIFF_BYTES } from './formats/sniff.ts';
import { readWavHeader } from './formats/wav.ts';
import { Mixdown } from './mixdown.ts';
import type { Samples } from './samples.ts';
import { ByteSource, type ReadWatch, throwIfStopped } from './source.ts';

/** A recording as the analysis needs it: one channel, conditioned, at 16 to 32 kHz where the file's rate permits. */
export interface Recording {
  samples: Samples;
  source: {
    /** Base name; `standard input` when piped. */
    file: string;
    sha256: string;
    durationSec: number;
    /** Of the file, in Hz; `samples.sampleRate` may be lower. */
    sampleRate: number;
    channels: number;
  };
  /** What the player should know, in plain sentences without a full stop; empty when all is well. */
  remarks: string[];
}

export interface ReadOptions {
  /** Looked at between chunks. */
  signal?: AbortSignal;
  /** Called with the share of the file that has been read, in [0, 1]. */
  onProgress?: (fraction: number) => void;
}

/** Less sound than announced by this much or more is worth a remark; codecs' padding is below it. Seconds. */
const SHORT_BY_SEC = 0.15;

/**
 * Reads any recording, recognised by content, in bounded memory. The file is never written to.
 * @param path a file, or `-` for standard input
 * @throws ReedtraceError E_NOT_FOUND, E_NOT_A_FILE, E_NOT_AUDIO, E_DAMAGED_AUDIO, E_INTERRUPTED
 */
export async function readRecording(path: string, options: ReadOptions = {}): Promise<Recording> {
  const watch: ReadWatch = { signal: options.signal, onProgress: options.onProgress };
  throwIfStopped(watch.signal);
  const source = await ByteSource.open(path, watch.signal);
  try {
    if (source.size === 0) {
      throw new ReedtraceError(
        'E_NOT_AUDIO',
        `'${source.file}' is empty (0 bytes)`,
        'record it again or copy it again',
      );
    }
    const format = recogniseFormat(await source.readAt(0, SNIFF_BYTES), source.file);
    const layout = await plainLayout(source, format);
    const { mixdown, remarks } = layout
      ? await readPlain(source, layout, watch)
      : await readCoded(source, format, watch);
    if (mixdown.frames === 0) throw damaged(source.file, 'there is a header but no sound after it');
    const more = mixdown.finish(source.file);
    return {
      samples: mixdown.samples,
      source: {
        file: source.file,
        sha256: source.sha256(),
        durationSec: mixdown.frames / mixdown.sampleRate,
        sampleRate: mixdown.sampleRate,
        channels: mixdown.channels,
      },
      remarks: [...remarks, ...more],
    };
  } finally {
    await source.close();
  }
}

interface Outcome {
  mixdown: Mixdown;
  remarks: string[];
}

/** Where the samples lie, for files that hold them uncoded; null for those that need a codec. */
async function plainLayout(source: ByteSource, format: Format): Promise<PcmLayout | null> {
  if (format.decoder === 'wav') return (await readWavHeader(source)).pcm;
  if (format.decoder === 'aiff') return readAiffHeader(source);
  return null;
}

async function readPlain(source: ByteSource, layout: PcmLayout, watch: ReadWatch): Promise<Outcome> {
  const frameBytes = layout.bytesPerSample * layout.channels;
  const there = Math.max(0, Math.min(layout.dataBytes, source.size - layout.dataStart));
  const end = layout.dataStart + there;
  const mixdown = new Mixdown(layout.sampleRate, layout.channels, Math.floor(there / frameBytes));
  const unpacker = new PcmUnpacker(layout);
  let position = 0;
  for await (const chunk of source.chunks(watch)) {
    const from = Math.max(0, layout.dataStart - position);
    const to = Math.min(chunk.length, end - position);
    if (from < to) mixdown.push(unpacker.unpack(chunk.subarray(from, to)));
    position += chunk.length;
  }
  const announcedSec = layout.dataBytes / frameBytes / layout.sampleRate;
  return { mixdown, remarks: shortRemark(mixdown, Number.isFinite(announcedSec) ? announcedSec : null) };
}

async function readCoded(source: ByteSource, format: Format, watch: ReadWatch): Promise<Outcome> {
  const announced = await announcedLength(source, format);
  const pieces = format.decoder === 'm4a' ? fastStart(source, watch) : source.chunks(watch);
  let mixdown: Mixdown | null = null;
  let failure: unknown;
  const take = (data: { channelData: Float32Array[]; sampleRate: number }) => {
    if (data.channelData.length === 0 || data.channelData[0].length === 0) return;
    if (!mixdown) {
      checkFormat(source.file, data.sampleRate, data.channelData.length);
      mixdown = new Mixdown(data.sampleRate, data.channelData.length, Number.POSITIVE_INFINITY);
    }
    mixdown.push(matchChannels(data.channelData, mixdown.channels));
  };
  const decoder = await openDecoder(format.decoder);
  try {
    for await (const piece of pieces) {
      if (failure !== undefined) continue; // only hashed from here on
      // A copy: decoders keep a view of an incomplete frame, and the source fills its buffers again.
      const data = await decoder(piece.slice()).catch((error: unknown) => {
        failure = error ?? new Error('unknown');
        return null;
      });
      if (data) take(data);
    }
    if (failure === undefined) {
      const rest = await decoder().catch((error: unknown) => {
        failure = error ?? new Error('unknown');
        return null;
      });
      if (rest) take(rest);
    }
  } finally {
    decoder.free();
  }
  const done = mixdown as Mixdown | null;
  if (!done) {
    throw nothingDecoded(source.file, format, failure);
  }
  const remarks = shortRemark(done, announced.seconds);
  if (remarks.length === 0 && failure !== undefined) {
    remarks.push(
      `the file is damaged after ${seconds(done.frames / done.sampleRate)}: the rest was left out`,
    );
  }
  if (remarks.length === 0 && announced.cut)
    remarks.push('the file has no proper end: it may have been cut off');
  return { mixdown: done, remarks };
}

/** Words that audio-decode uses when a container is sound but what is in it is not for it. */
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
  return damaged(file, `it begins like ${format.name}, but no sound could be decoded`, failure);
}

/** Streams may change between mono and stereo on the way; the first piece decides. */
function matchChannels(planar: Float32Array[], channels: number): Float32Array[] {
  if (planar.length === channels) return planar;
  return Array.from({ length: channels }, (_, c) => planar[c % planar.length]);
}

function shortRemark(mixdown: Mixdown, announcedSec: number | null): string[] {
  if (announcedSec === null) return [];
  const readSec = mixdown.frames / mixdown.sampleRate;
  if (announcedSec - readSec < SHORT_BY_SEC) return [];
  return [`the file ends early: ${seconds(readSec)} of the announced ${seconds(announcedSec)} could be read`];
}

function seconds(value: number): string {
  return `${value < 10 ? value.toFixed(2) : value.toFixed(1)} s`;
}

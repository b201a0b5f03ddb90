import { ReedtraceError } from '../errors.ts';
import { readAiffHeader } from './formats/aiff.ts';
import { type PcmLayout, PcmUnpacker } from './formats/pcm.ts';
import { recordedOn } from './formats/recorded-on.ts';
import { damaged } from './formats/refuse.ts';
import { type Format, recogniseFormat, SNIFF_BYTES } from './formats/sniff.ts';
import { readWavHeader } from './formats/wav.ts';
import { Mixdown } from './mixdown.ts';
import { type OnSamples, type Outcome, readCoded } from './read-coded.ts';
import type { Samples } from './samples.ts';
import { checkLength, shortRemark } from './sound-length.ts';
import { ByteSource, PLAIN_CHUNK_BYTES, type ReadWatch, throwIfStopped } from './source.ts';

/** A recording as the analysis needs it: one channel, conditioned, at 16 to 32 kHz where the file's rate permits. */
export interface Recording {
  samples: Samples;
  source: {
    /** Base name; `standard input` when piped. */
    file: string;
    sha256: string;
    durationSec: number;
    /** Sample rate of the file, in Hz; `samples.sampleRate` may be lower. */
    sampleRate: number;
    channels: number;
    /** `YYYY-MM-DD` from the file's metadata; missing if there is no date. */
    recordedOn?: string;
  };
  /** What the player should know, in plain sentences without a full stop; empty when all is well. */
  remarks: string[];
}

export interface ReadOptions {
  /** Checked between chunks. */
  signal?: AbortSignal;
  /** Called with the share of the file that has been read, in [0, 1]. */
  onProgress?: (fraction: number) => void;
  /** Called with the samples as they are in the file, by channel, before anything is done to them; valid until it returns. */
  onSamples?: OnSamples | undefined;
}

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
      ? await readPlain(source, layout, watch, options.onSamples)
      : await readCoded(source, format, watch, options.onSamples);
    if (mixdown.frames === 0) throw damaged(source.file, 'there is a header but no sound after it');
    const more = mixdown.finish(source.file);
    const day = await dayOf(source, format);
    return {
      samples: mixdown.samples,
      source: {
        file: source.file,
        sha256: source.sha256(),
        durationSec: mixdown.frames / mixdown.sampleRate,
        sampleRate: mixdown.sampleRate,
        channels: mixdown.channels,
        ...(day === null ? {} : { recordedOn: day }),
      },
      remarks: [...remarks, ...more],
    };
  } finally {
    await source.close();
  }
}

/**
 * The day in a recording's metadata, without reading its sound; null if there is none, or the file is not a recording.
 */
export async function readRecordedOn(path: string): Promise<string | null> {
  try {
    const source = await ByteSource.open(path);
    try {
      return await dayOf(source, recogniseFormat(await source.readAt(0, SNIFF_BYTES), source.file));
    } finally {
      await source.close();
    }
  } catch (error) {
    if (error instanceof ReedtraceError) return null;
    throw error;
  }
}

/** The day from the metadata; null if it can't be read, which does no harm. */
async function dayOf(source: ByteSource, format: Format): Promise<string | null> {
  return recordedOn(source, format).catch((error: unknown) => {
    if (error instanceof ReedtraceError) return null;
    throw error;
  });
}

/** Where the samples are, for files that hold them uncoded; null for those that need a codec. */
async function plainLayout(source: ByteSource, format: Format): Promise<PcmLayout | null> {
  if (format.decoder === 'wav') return (await readWavHeader(source)).pcm;
  if (format.decoder === 'aiff') return readAiffHeader(source);
  return null;
}

async function readPlain(
  source: ByteSource,
  layout: PcmLayout,
  watch: ReadWatch,
  onSamples: ReadOptions['onSamples'],
): Promise<Outcome> {
  const frameBytes = layout.bytesPerSample * layout.channels;
  const there = Math.max(0, Math.min(layout.dataBytes, source.size - layout.dataStart));
  const end = layout.dataStart + there;
  const frames = Math.floor(there / frameBytes);
  checkLength(source.file, frames / layout.sampleRate);
  const mixdown = new Mixdown(layout.sampleRate, layout.channels, frames);
  const unpacker = new PcmUnpacker(layout);
  let position = 0;
  for await (const chunk of source.chunks(watch, PLAIN_CHUNK_BYTES)) {
    const from = Math.max(0, layout.dataStart - position);
    const to = Math.min(chunk.length, end - position);
    if (from < to) {
      const planar = unpacker.unpack(chunk.subarray(from, to));
      onSamples?.(planar, layout.sampleRate);
      mixdown.push(planar);
    }
    position += chunk.length;
  }
  const announcedSec = layout.dataBytes / frameBytes / layout.sampleRate;
  return { mixdown, remarks: shortRemark(mixdown, Number.isFinite(announcedSec) ? announcedSec : null) };
}

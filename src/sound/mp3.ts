import { setImmediate } from 'node:timers/promises';
import { createMp3Encoder } from 'wasm-media-encoders';
import type { Samples } from '../audio/samples.ts';
import { throwIfStopped } from '../audio/source.ts';

/** Rates that MPEG-2 and MPEG-2.5 Layer III have below 32 kHz (ISO/IEC 13818-3 and its common extension), in Hz. */
const RATES_HZ = [8000, 11_025, 12_000, 16_000, 22_050, 24_000] as const;
type RateHz = (typeof RATES_HZ)[number];

/** For one channel, in kbit/s: LAME's own defaults, at which it keeps the whole band of the stored rate. */
const BIT_RATES: Readonly<Record<RateHz, 24 | 32 | 48 | 64>> = {
  8000: 24,
  11025: 32,
  12000: 32,
  16000: 48,
  22050: 64,
  24000: 64,
};

/** Samples of a frame of MPEG-2 Layer III. */
const FRAME_SAMPLES = 576;
/** Samples that LAME adds before the first; decoders read it from the tag and add their own 529. */
const ENCODER_DELAY = 576;
const DECODER_DELAY = 529;

/** A recording as an MP3 file. */
export interface Mp3 {
  readonly bytes: Uint8Array;
  readonly rateHz: number;
  /** Of the sound itself, without the padding that codecs add. */
  readonly durationSec: number;
  /** How late the sound comes out of a decoder that ignores the tag. */
  readonly untaggedDelaySec: number;
}

/**
 * Encodes samples as MP3 with LAME (WebAssembly): one channel, constant bit rate, which every browser and phone plays.
 * A tag at the start tells decoders which samples to skip, so that times stay the same. The file holds nothing but
 * sound: no names, dates or places.
 * @param gain factor on the samples; what goes beyond full scale is clipped
 * @throws ReedtraceError E_INTERRUPTED
 */
export async function encodeMp3(samples: Samples, signal?: AbortSignal, gain = 1): Promise<Mp3> {
  const rateHz = rateFor(samples.sampleRate);
  const encoder = await createMp3Encoder();
  encoder.configure({
    sampleRate: samples.sampleRate,
    channels: 1,
    outputSampleRate: rateHz,
    bitrate: BIT_RATES[rateHz],
  });
  const parts: Uint8Array[] = [];
  const second = new Float32Array(Math.round(samples.sampleRate));
  for (let at = 0; at < samples.length; at += second.length) {
    throwIfStopped(signal);
    const piece = second.subarray(0, Math.min(second.length, samples.length - at));
    samples.read(at, piece);
    for (let i = 0; i < piece.length; i++) piece[i] = Math.max(-1, Math.min(1, gain * piece[i]));
    // A copy, as the encoder reuses its buffer.
    parts.push(encoder.encode([piece]).slice());
    await setImmediate();
  }
  parts.push(encoder.finalize().slice());
  const sound = Buffer.concat(parts);
  const count = Math.round(samples.durationSec * rateHz);
  return {
    bytes: Buffer.concat([gaplessTag(sound, count), sound]),
    rateHz,
    durationSec: samples.durationSec,
    untaggedDelaySec: (ENCODER_DELAY + DECODER_DELAY) / rateHz,
  };
}

/** The lowest rate that loses nothing, or the highest there is. */
function rateFor(sampleRate: number): RateHz {
  return RATES_HZ.find((rate) => rate >= sampleRate) ?? RATES_HZ[RATES_HZ.length - 1];
}

const SIDE_INFO_BYTES = 9;
const HEADER_BYTES = 4;
/** Frame sizes of MPEG-2 and 2.5, Layer III, in kbit/s by the four bits of the header (ISO/IEC 13818-3, 2.4.2.3). */
const KBITS = [0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160];

/** Rate of a frame in Hz: three for MPEG-2, half of them for MPEG-2.5. */
function rateOf(header: Uint8Array): number {
  const mpeg2 = [22_050, 24_000, 16_000][(header[2] >> 2) & 3];
  return (header[1] & 0x18) === 0 ? mpeg2 / 2 : mpeg2;
}

function frameBytes(header: Uint8Array): number {
  const padding = (header[2] >> 1) & 1;
  return Math.floor(((FRAME_SAMPLES / 8) * 1000 * KBITS[header[2] >> 4]) / rateOf(header)) + padding;
}

/** Offsets of the parts of the tag in its frame, after the side information (Xing and LAME tag specifications). */
const TAG = {
  flags: 4,
  frames: 8,
  bytes: 12,
  toc: 16,
  quality: 116,
  encoder: 120,
  delay: 141,
  end: 156,
} as const;
const ALL_FIELDS = 15;

/**
 * A silent frame with the tag that says how many frames and bytes follow, and which samples are padding.
 * @param sound  frames of one constant bit rate
 * @param count  samples of sound in them
 */
function gaplessTag(sound: Uint8Array, count: number): Uint8Array {
  const header = sound.slice(0, HEADER_BYTES);
  header[1] |= 1; // no checksum
  header[2] &= ~2; // no padding
  const need = HEADER_BYTES + SIDE_INFO_BYTES + TAG.end;
  while (frameBytes(header) < need) header[2] += 0x10;
  const frame = new Uint8Array(frameBytes(header));
  frame.set(header);
  const starts = frameStarts(sound);
  const total = sound.length + frame.length;
  const tag = new DataView(frame.buffer, HEADER_BYTES + SIDE_INFO_BYTES);
  const text = (at: number, word: string) => {
    for (let i = 0; i < word.length; i++) tag.setUint8(at + i, word.charCodeAt(i));
  };
  text(0, 'Info');
  tag.setUint32(TAG.flags, ALL_FIELDS);
  tag.setUint32(TAG.frames, starts.length);
  tag.setUint32(TAG.bytes, total);
  for (let percent = 0; percent < 100; percent++) {
    const start = starts[Math.floor((percent * starts.length) / 100)];
    tag.setUint8(TAG.toc + percent, Math.floor((256 * (start + frame.length)) / total));
  }
  text(TAG.encoder, 'LAME3.100');
  const padding = Math.max(0, Math.min(0xfff, starts.length * FRAME_SAMPLES - ENCODER_DELAY - count));
  tag.setUint8(TAG.delay, ENCODER_DELAY >> 4);
  tag.setUint8(TAG.delay + 1, ((ENCODER_DELAY & 15) << 4) | (padding >> 8));
  tag.setUint8(TAG.delay + 2, padding & 0xff);
  return frame;
}

function frameStarts(sound: Uint8Array): number[] {
  const starts: number[] = [];
  for (
    let at = 0;
    at + HEADER_BYTES <= sound.length;
    at += frameBytes(sound.subarray(at, at + HEADER_BYTES))
  ) {
    starts.push(at);
  }
  return starts;
}

import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll } from 'vitest';
import { type Recording, readRecording } from '../../src/audio/read.ts';
import { ReedtraceError } from '../../src/errors.ts';

/** A folder that is removed after the tests of the calling file. */
export function temporaryFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'reedtrace-test-'));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

export function fixture(name: string): string {
  return new URL(`../fixtures/audio/${name}`, import.meta.url).pathname;
}

export function all(recording: Recording): Float32Array {
  const out = new Float32Array(recording.samples.length);
  recording.samples.read(0, out);
  return out;
}

export async function readBytes(folder: string, bytes: Uint8Array, name = 'take.wav'): Promise<Recording> {
  const path = join(folder, name);
  writeFileSync(path, bytes);
  return readRecording(path);
}

/** The error with which reading ends; fails the test unless it is a ReedtraceError. */
export async function refusal(path: string): Promise<ReedtraceError> {
  try {
    await readRecording(path);
  } catch (error) {
    if (error instanceof ReedtraceError) return error;
    throw error;
  }
  throw new Error(`${path} was read`);
}

/** Amplitude, phase and frequency of the tone near `nearHz` between two times, by windowed correlation [calc]. */
export function measureTone(
  data: Float32Array,
  rate: number,
  fromSec: number,
  toSec: number,
  nearHz: number,
): { amplitude: number; f0Hz: number } {
  const half = Math.floor(((toSec - fromSec) * rate) / 2);
  const phasor = (from: number) => {
    let re = 0;
    let im = 0;
    for (let i = 0; i < half; i++) {
      const w = 0.5 - 0.5 * Math.cos((2 * Math.PI * i) / half);
      const angle = (2 * Math.PI * nearHz * (from + i)) / rate;
      re += w * data[from + i] * Math.cos(angle);
      im -= w * data[from + i] * Math.sin(angle);
    }
    return { phase: Math.atan2(im, re), amplitude: (4 * Math.hypot(re, im)) / half };
  };
  const start = Math.round(fromSec * rate);
  const a = phasor(start);
  const b = phasor(start + half);
  let turn = b.phase - a.phase;
  turn -= 2 * Math.PI * Math.round(turn / (2 * Math.PI));
  return { amplitude: a.amplitude, f0Hz: nearHz + (turn * rate) / (2 * Math.PI * half) };
}

export function firstAbove(data: Float32Array, level: number): number {
  return data.findIndex((x) => Math.abs(x) > level);
}

// --- WAV, byte by byte: RIFF chunks, little-endian, padded to even (facts from the RIFF/WAVE specification) ---

export function text(value: string): Uint8Array {
  return Uint8Array.from(value, (letter) => letter.charCodeAt(0));
}

export function joined(...parts: Uint8Array[]): Uint8Array {
  return new Uint8Array(Buffer.concat(parts));
}

export function u16(value: number, big = false): Uint8Array {
  const bytes = new Uint8Array(2);
  new DataView(bytes.buffer).setUint16(0, value, !big);
  return bytes;
}

export function u32(value: number, big = false): Uint8Array {
  const bytes = new Uint8Array(4);
  new DataView(bytes.buffer).setUint32(0, value, !big);
  return bytes;
}

export function chunk(id: string, body: Uint8Array, announced = body.length, big = false): Uint8Array {
  return joined(text(id), u32(announced, big), body, new Uint8Array(body.length % 2));
}

export interface Fmt {
  tag?: number;
  channels?: number;
  rate?: number;
  bits?: number;
  blockAlign?: number;
  extra?: Uint8Array;
  big?: boolean;
}

export function fmt({
  tag = 1,
  channels = 1,
  rate = 16_000,
  bits = 16,
  blockAlign,
  extra,
  big = false,
}: Fmt = {}) {
  const align = blockAlign ?? (channels * bits) / 8;
  const body = [
    u16(tag, big),
    u16(channels, big),
    u32(rate, big),
    u32((rate * align) >>> 0, big),
    u16(align, big),
    u16(bits, big),
  ];
  return chunk('fmt ', joined(...body, ...(extra ? [extra] : [])), undefined, big);
}

/** The 24 bytes by which WAVE_FORMAT_EXTENSIBLE goes on after the plain format: tag is the true codec. */
export function extensible(tag: number, validBits: number): Uint8Array {
  const guidTail = [0x00, 0x00, 0x00, 0x00, 0x10, 0x00, 0x80, 0x00, 0x00, 0xaa, 0x00, 0x38, 0x9b, 0x71];
  return joined(u16(22), u16(validBits), u32(0), u16(tag), Uint8Array.from(guidTail));
}

export function riff(...chunks: Uint8Array[]): Uint8Array {
  const body = joined(text('WAVE'), ...chunks);
  return joined(text('RIFF'), u32(body.length), body);
}

/** Interleaved samples in the coding that `bits` and `float` name; input in ±1. */
export function pcm(planes: readonly Float32Array[], bits: number, float = false, big = false): Uint8Array {
  const size = bits / 8;
  const frames = planes[0].length;
  const view = new DataView(new ArrayBuffer(frames * planes.length * size));
  for (let i = 0, at = 0; i < frames; i++) {
    for (const plane of planes) {
      const x = plane[i];
      if (float && bits === 32) view.setFloat32(at, x, !big);
      else if (float) view.setFloat64(at, x, !big);
      else if (bits === 8) view.setUint8(at, Math.round(x * 127) + 128);
      else if (bits === 16) view.setInt16(at, Math.round(x * 32767), !big);
      else if (bits === 24) {
        const value = Math.round(x * 8388607);
        for (let k = 0; k < 3; k++) view.setUint8(at + (big ? 2 - k : k), (value >> (8 * k)) & 255);
      } else if (bits === 32) view.setInt32(at, Math.round(x * 2147483647), !big);
      else view.setBigInt64(at, BigInt(Math.round(x * 2147483647)) << 32n, !big);
      at += size;
    }
  }
  return new Uint8Array(view.buffer);
}

/** 0.1 s of silence, then 0.3 s of a sine of amplitude 0.5. */
export function tone(rate: number, f0Hz = 440, amplitude = 0.5): Float32Array {
  const data = new Float32Array(Math.round(rate * 0.4));
  for (let i = Math.round(rate * 0.1); i < data.length; i++) {
    data[i] = amplitude * Math.sin((2 * Math.PI * f0Hz * i) / rate);
  }
  return data;
}

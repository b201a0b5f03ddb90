import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { readRecording } from '../../src/audio/read.ts';
import { all, temporaryFolder } from './support.ts';

/*
 * FLAC by RFC 9639 (2024) with nothing but constant subframes: ten minutes of sound fit into a few kilobytes, and each
 * frame has a different value, so that a lost, doubled or misplaced frame shows.
 */
const RATE_HZ = 8000;
const BLOCK = 4096;
const SECONDS = 600;

/** Cyclic redundancy check, most significant bit first, from 0. */
function crc(bytes: readonly number[], bits: 8 | 16, polynomial: number): number {
  const top = 1 << (bits - 1);
  let value = 0;
  for (const byte of bytes) {
    value ^= byte << (bits - 8);
    for (let bit = 0; bit < 8; bit++) {
      value = value & top ? (value << 1) ^ polynomial : value << 1;
      value &= (1 << bits) - 1;
    }
  }
  return value;
}

/** Number of a frame in the code that RFC 9639, section 9.1.5, borrows from UTF-8; below 65 536. */
function frameNumber(n: number): number[] {
  if (n < 0x80) return [n];
  if (n < 0x800) return [0xc0 | (n >> 6), 0x80 | (n & 63)];
  return [0xe0 | (n >> 12), 0x80 | ((n >> 6) & 63), 0x80 | (n & 63)];
}

/** Sample value of a frame, 16 bits; the steps from frame to frame differ. */
const frameValue = (frame: number) => (frame * frame * 37) % 4001;

const big = (value: number, bytes: number) =>
  Array.from({ length: bytes }, (_, i) => Math.floor(value / 256 ** (bytes - 1 - i)) % 256);

function constantFlac(samples: number): Uint8Array {
  // Rate (20 bits), channels less one (3), bits less one (5), samples (36).
  const shape = (BigInt(RATE_HZ) << 44n) | (15n << 36n) | BigInt(samples);
  const info = [...big(BLOCK, 2), ...big(BLOCK, 2), 0, 0, 0, 0, 0, 0];
  for (let shift = 56n; shift >= 0n; shift -= 8n) info.push(Number((shape >> shift) & 255n));
  const bytes = [...Buffer.from('fLaC'), 0x80, 0, 0, 34, ...info, ...new Array<number>(16).fill(0)];
  for (let frame = 0; frame * BLOCK < samples; frame++) {
    const count = Math.min(BLOCK, samples - frame * BLOCK);
    // Block size as 16 bits at the end of the header (0111), rate 8 kHz (0100); one channel, 16 bits (100).
    const header = [0xff, 0xf8, 0x74, 0x08, ...frameNumber(frame), ...big(count - 1, 2)];
    const whole = [...header, crc(header, 8, 0x07), 0, ...big(frameValue(frame), 2)];
    bytes.push(...whole, ...big(crc(whole, 16, 0x8005), 2));
  }
  return Uint8Array.from(bytes);
}

it('a ten-minute FLAC file is read completely and in order', async () => {
  const samples = SECONDS * RATE_HZ - 1234;
  const path = join(temporaryFolder(), 'long.flac');
  writeFileSync(path, constantFlac(samples));
  const recording = await readRecording(path);
  expect(recording.source.sampleRate).toBe(RATE_HZ);
  expect(recording.source.durationSec).toBeCloseTo(samples / RATE_HZ, 6);
  expect(recording.remarks).toEqual([]);
  const data = all(recording);
  expect(data.length).toBe(samples);
  // What is read has been high-passed: each frame shows as a step to its value, which then decays.
  const wrong: number[] = [];
  for (let frame = 1; frame * BLOCK < samples; frame++) {
    const step = 32_768 * (data[frame * BLOCK] - data[frame * BLOCK - 1]);
    if (Math.abs(step - (frameValue(frame) - frameValue(frame - 1))) > 0.5) wrong.push(frame);
  }
  expect(wrong).toEqual([]);
});

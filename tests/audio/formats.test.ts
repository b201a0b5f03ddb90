import { createHash } from 'node:crypto';
import { copyFileSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { readRecording } from '../../src/audio/read.ts';
import { all, firstAbove, fixture, measureTone, temporaryFolder } from './support.ts';

/**
 * Written by ffmpeg, not by this project: 0.1 s of silence and then 440 Hz at amplitude 0.25, 0.4 s in all.
 * `over`: how much longer a format without an end mark may come out (one codec frame or block).
 */
const FIXTURES: readonly [file: string, rateHz: number, over: number][] = [
  ['tone.mp3', 44_100, 0],
  ['tagged.mp3', 44_100, 0],
  ['stereo-vbr.mp3', 44_100, 0],
  ['tone.m4a', 44_100, 0],
  ['index-first.m4a', 44_100, 0],
  ['fragmented.m4a', 44_100, 0.025],
  ['alac.m4a', 44_100, 0],
  ['tone.aac', 44_100, 0.025],
  ['tone.mka', 44_100, 0.025],
  ['tone.flac', 44_100, 0],
  ['flac.ogg', 44_100, 0],
  ['tone.ogg', 44_100, 0],
  ['tone.opus', 48_000, 0],
  ['tone.webm', 48_000, 0],
  ['tone.aiff', 44_100, 0],
  ['eight-bit.aiff', 44_100, 0],
  ['float.aifc', 16_000, 0],
  ['tone.caf', 44_100, 0],
  ['mulaw.wav', 44_100, 0],
  ['alaw.wav', 44_100, 0],
  ['ima.wav', 44_100, 0.025],
  ['msadpcm.wav', 44_100, 0.025],
  ['video.mp4', 44_100, 0],
  ['video.mov', 44_100, 0],
  ['video.webm', 48_000, 0.025],
];

const folder = temporaryFolder();

describe('formats', () => {
  it.each(FIXTURES)('%s keeps pitch, onset and length', async (file, rateHz, over) => {
    // A name without a hint, so that only the content can tell.
    const path = join(folder, 'recording.bin');
    copyFileSync(fixture(file), path);
    const recording = await readRecording(path);
    const { samples, source, remarks } = recording;
    expect(source.file).toBe('recording.bin');
    expect(source.sampleRate).toBe(rateHz);
    expect(source.channels).toBe(1);
    expect(source.durationSec).toBeGreaterThan(0.399);
    expect(source.durationSec).toBeLessThan(0.401 + over);
    expect(samples.durationSec).toBeCloseTo(source.durationSec, 3);
    expect(remarks).toEqual([]);
    const data = all(recording);
    const heard = measureTone(data, samples.sampleRate, 0.15, 0.35, 440);
    // 0.01 Hz is 0.04 cents; the lossy codecs are within it.
    expect(Math.abs(heard.f0Hz - 440)).toBeLessThan(0.01);
    expect(heard.amplitude).toBeGreaterThan(0.17);
    expect(heard.amplitude).toBeLessThan(0.26);
    // The sine passes 0.1 at 0.15 ms; codecs smear by a millisecond or so.
    expect(firstAbove(data, 0.1) / samples.sampleRate).toBeGreaterThan(0.098);
    expect(firstAbove(data, 0.1) / samples.sampleRate).toBeLessThan(0.102);
  });

  it('gives the hash of the file and leaves the file unchanged', async () => {
    const before = readFileSync(fixture('tone.flac'));
    const { source } = await readRecording(fixture('tone.flac'));
    expect(source.sha256).toBe(createHash('sha256').update(before).digest('hex'));
    expect(readFileSync(fixture('tone.flac')).equals(before)).toBe(true);
  });

  it('hashes an M4A in file order, whatever the decoder reads first', async () => {
    const { source } = await readRecording(fixture('tone.m4a'));
    expect(source.sha256).toBe(
      createHash('sha256')
        .update(readFileSync(fixture('tone.m4a')))
        .digest('hex'),
    );
  });

  it('reports progress up to 1', async () => {
    const seen: number[] = [];
    await readRecording(fixture('tone.mp3'), { onProgress: (fraction) => seen.push(fraction) });
    expect(seen.at(-1)).toBe(1);
    expect(seen.every((fraction, i) => fraction > (seen[i - 1] ?? 0))).toBe(true);
  });

  it('stops when asked to', async () => {
    const stop = new AbortController();
    stop.abort();
    await expect(readRecording(fixture('tone.mp3'), { signal: stop.signal })).rejects.toMatchObject({
      code: 'E_INTERRUPTED',
    });
  });
});
